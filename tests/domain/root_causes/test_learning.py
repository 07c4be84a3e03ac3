"""What is learned from a fleet, against the truth by which it was made."""

import pytest

from service.domain.root_causes.baselines import default_setting
from service.domain.root_causes.causes import causes_of
from tests.simulation.fleet import fleet
from tests.simulation.plan import BASE, DAYS, START, Plan
from tests.simulation.values import learned_of

END = START.fromordinal(START.toordinal() + DAYS)


@pytest.fixture(scope="module")
def doubled():
    return learned_of((made.history for made in fleet(400, 5, Plan(rate=2.0))), END)


@pytest.mark.parametrize("kind", ["power_switch", "pump", "temperature_controller", "condenser_fan"])
def test_the_base_rate_is_that_of_the_healthy(doubled, kind):
    """The sick units must not raise it: twice the default, within a sixth."""
    assert doubled.of(kind).rate == pytest.approx(2.0 * BASE[kind], rel=0.17)


def test_a_cause_at_work_is_learned_to_be_common_and_strong(doubled):
    setting, default = doubled.of("power_switch"), default_setting("power_switch")
    place = [cause.code for cause in causes_of("power_switch")].index("condenser_fouled")

    assert setting.priors[place] > default.priors[place]
    weak = sum(setting.strengths[view][0] for view in range(3))  # the three views of the condenser
    assert weak < 0.01


def test_what_nobody_saw_stays_as_it_was_taken_to_be(doubled):
    setting, default = doubled.of("power_switch"), default_setting("power_switch")
    place = [cause.code for cause in causes_of("power_switch")].index("loose_terminal")

    assert setting.priors[place] <= default.priors[place] * 1.2
    assert setting.strengths[place + 2] == pytest.approx(default.strengths[place + 2], abs=0.02)


def test_a_fleet_of_one_stays_near_the_defaults():
    (made,) = fleet(1, 5, Plan(planted=False))
    setting = learned_of([made.history], END).of("pump")

    assert setting.rate == pytest.approx(0.15, rel=0.35)
    assert sum(setting.priors) + setting.unexplained < 0.35
