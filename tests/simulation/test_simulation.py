"""The engine against rules of counting, on small fleets with known truth and fixed seeds.

The tables over many fleets are printed by `python -m tests.simulation`; these hold what must not be lost.
"""

import pytest

from service.domain.root_causes.engine import PROBABLE, STRONG
from tests.simulation.fleet import fleet
from tests.simulation.measure import counting, decisions, engine, tallied
from tests.simulation.plan import Plan


@pytest.fixture(scope="module", params=["ramp", "damage"])
def answer(request):
    """A fleet by one of the two generators, and what the engine says failure by failure, learning from the past."""
    units = fleet(250, 7, Plan(hazard=request.param))
    return units, decisions(units, engine(units))


def test_it_cries_wolf_far_less_than_two_in_twelve_months(answer):
    units, stated = answer
    rule = tallied(units, decisions(units, counting(2)), 1.0).row()

    assert tallied(units, stated, PROBABLE).row()["false/1000"] < rule["false/1000"] / 8


def test_strong_root_causes_have_a_cause(answer):
    units, stated = answer
    row = tallied(units, stated, STRONG).row()

    assert row["flags"] >= 3
    assert row["precision"] > 0.9


def test_most_causes_are_named_rightly(answer):
    units, stated = answer

    assert tallied(units, stated, PROBABLE).row()["cause"] > 0.8


def test_nobody_is_accused_at_the_first_failure(answer):
    _, stated = answer

    assert all(rows[0][2] is None for _, _, rows in stated)
