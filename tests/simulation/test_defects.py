"""The fifth generator: what it says of itself holds, and its lines are an import that the program takes."""

from collections import Counter
from functools import cache

import pytest

from tests.simulation import defects
from tests.simulation.replay import logs_of
from tests.simulation.truth import DAMAGED, ORDINARY, Plan


@cache
def made(plan=DAMAGED, size=60):
    return defects.fleet(size, 11, plan)


def test_the_same_seed_makes_the_same_fleet_and_another_another():
    few = [defects.fleet(3, seed, Plan()).lines for seed in (5, 5, 6)]

    assert few[0] == few[1] != few[2]


def test_what_is_planted_makes_parts_fail_and_more_of_them():
    fleet = made()
    planted = {(unit, one.cause) for one in fleet.planted for unit in one.units}
    caused = [each for each in fleet.failures if each.cause != ORDINARY]
    counts = Counter(each.unit in fleet.troubled for each in fleet.failures)
    years = len(fleet.troubled) * 3.0  # at most

    assert sum((each.unit, each.cause) in planted for each in caused) > 0.9 * len(caused) > 20
    assert counts[True] / years > 1.5 * counts[False] / fleet.healthy_years()


def test_where_nothing_is_planted_nearly_all_is_bad_luck_and_twice_the_rate_is_twice_as_much():
    fleet = made(Plan(planted=False, rate=2.0))
    once = made(Plan(planted=False))

    assert fleet.planted == []
    assert sum(each.cause == ORDINARY for each in fleet.failures) > 0.95 * len(fleet.failures)
    assert len(fleet.failures) == pytest.approx(2 * len(once.failures), rel=0.25)


def test_what_others_did_is_known_roughly_and_reasons_are_wrong_as_the_plan_says():
    fleet = made()
    parts = [part for line in fleet.lines for part in line.get("replacements", ())]

    assert {part.get("by") for part in parts} == {None, "others"}
    assert {len(part["on"]) for part in parts if "on" in part} >= {4, 7, 10}
    assert sum(part["reason"] == "unknown" for part in parts) > 0.05 * len(parts)


def test_its_lines_are_an_import():
    logs = logs_of(defects.fleet(8, 2, Plan()))

    assert len(logs) == 8
    assert sum(len(log.all_visits) for log in logs.values()) > 60
