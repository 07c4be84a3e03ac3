"""The engine's findings on simulated visits: bounds on a small run, which is always the same.

`python -m tests.simulation units` prints the figures of a long one.
"""

from collections import Counter
from random import Random
from typing import Any

import pytest

from tests.simulation.units.faults import FAULTS
from tests.simulation.units.main import answered, drawn
from tests.simulation.units.predicates import TRUE_OF
from tests.simulation.units.report import ALARMS, lines, measured
from tests.simulation.units.scene import HEALTHY_STATES
from tests.simulation.units.unit import draw_unit
from tests.simulation.units.visits import draw_visit

FALSE_ALARMS = 0.03  # share of the visits to sound units: one of 36
DANGERS = 0.9  # share of the dangers planted, at least, of each kind in REPORTED
REPORTED = ("ethylene", "ice", "overheated_terminal")


@pytest.fixture(scope="module")
def visits():
    return drawn(60, 5)  # a draw in which every danger is planted


@pytest.fixture(scope="module")
def answers(visits):
    return answered(visits)


@pytest.fixture(scope="module")
def measures(answers):
    return measured(answers)


def test_few_sound_units_are_found_fault_with(measures):
    assert measures.sound.total() == 36
    assert measures.false_alarm_share <= FALSE_ALARMS


def test_dangers_are_reported(measures):
    for danger in REPORTED:
        assert sum(measures.dangers[danger]) >= DANGERS * len(measures.dangers[danger]) > 0


def test_every_alarm_has_a_predicate(answers):
    said = {finding["code"] for _, answer in answers for finding in answer["findings"] if finding["severity"] in ALARMS}

    assert said <= TRUE_OF.keys()


def said(code: str, severity: str = "act") -> dict[str, Any]:
    return {"findings": [{"code": code, "severity": severity, "moment": "as_found"}]}


def test_an_alarm_counts_only_when_the_truth_does_not_bear_it_out(visits):
    standing = next(visit for visit in visits if visit.truth.healthy and visit.truth.state == "off_without_power")

    assert measured([(standing, said("superheat_none"))]).false_alarm_share == 1.0
    assert measured([(standing, said("superheat_none", "note"))]).false_alarm_share == 0.0
    assert measured([(standing, said("power_stops_here"))]).false_alarm_share == 0.0


def test_a_danger_that_is_not_reported_counts(visits):
    poisoned = next(visit for visit in visits if visit.truth.evident == ("ethylene",))

    assert measured([(poisoned, said("ethylene_glycol", "stop"))]).danger_share == 1.0
    assert measured([(poisoned, said("ethylene_glycol", "note"))]).danger_share == 0.0


def test_the_report_has_every_state_and_the_codes_said(measures):
    text = "\n".join(lines(measures))

    assert all(state in text for state in measures.sound)
    assert "bath_in_band" in text


def test_sound_units_are_found_in_every_state():
    rng = Random(4)
    wanted = Counter[bool]()
    for n in range(24):
        truth = draw_visit(rng, n, healthy=True).truth
        wanted[truth.state == HEALTHY_STATES[n % len(HEALTHY_STATES)]] += 1

    assert wanted[True] >= 20


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.code)
def test_each_fault_is_in_the_truth_and_its_danger_with_it(fault):
    rng = Random(9)
    unit = next(u for n in range(100) if fault.possible(u := draw_unit(rng, f"GU-{n}")))

    visit = draw_visit(rng, 1, healthy=False, codes=(fault.code,), unit=unit)

    assert visit.truth.faults == (fault.code,)
    assert visit.truth.dangers == ((fault.danger,) if fault.danger else ())
    assert visit.truth.found.has(fault.code)


def test_the_same_seed_gives_the_same_visits():
    assert [visit.body for visit in drawn(6, 3)] == [visit.body for visit in drawn(6, 3)]
