"""The two further generators, and the verdicts on what is stated of their fleets; long tables are a command."""

from collections import Counter
from dataclasses import replace
from datetime import date
from functools import cache

import pytest

from service.domain.root_causes.fleet_search import searched
from tests.simulation import risks, stress
from tests.simulation.records import instant
from tests.simulation.replay import Stated, logs_of, stated
from tests.simulation.truth import Failure, Fleet, Plan, Planted
from tests.simulation.values import parts_of_log
from tests.simulation.verdicts import best, calibration, counting, counting_scores, listed, named, pairs_of, score, wide

MAKE = {"stress": stress.fleet, "risks": risks.fleet}
generators = pytest.mark.parametrize("name", list(MAKE))


PLAN = Plan()


@cache
def made(name, plan=PLAN, size=40):
    return MAKE[name](size, 11, plan)


@generators
def test_the_same_seed_makes_the_same_fleet_and_another_another(name):
    assert MAKE[name](3, 5, Plan()).lines == MAKE[name](3, 5, Plan()).lines != MAKE[name](3, 6, Plan()).lines


@generators
def test_planted_units_fail_more_often_and_by_what_was_planted(name):
    fleet = made(name, size=120)
    planted = {(unit, cause.cause) for cause in fleet.planted for unit in cause.units}
    years = {tag: (fleet.end - day).days / 365.25 for tag, day in fleet.watched_from.items()}
    rates = {
        whether: sum((each.unit in fleet.troubled) == whether for each in fleet.failures)
        / sum(share for tag, share in years.items() if (tag in fleet.troubled) == whether)
        for whether in (True, False)
    }
    by_planted = sum((each.unit, each.cause) in planted for each in fleet.failures)

    assert rates[True] > 1.7 * rates[False]
    assert by_planted > 0.9 * sum(each.cause != "" for each in fleet.failures) > 20


@generators
def test_where_nothing_is_planted_nearly_all_failures_are_ordinary(name):
    fleet = made(name, Plan(planted=False, rate=2.0))

    assert fleet.planted == []
    assert sum(each.cause == "" for each in fleet.failures) > 0.95 * len(fleet.failures) > 30


@generators
def test_nobody_writes_of_a_unit_before_our_care_and_old_units_are_taken_over(name):
    fleet = made(name)
    units = {line["tag"]: line for line in fleet.lines if line["record"] == "unit"}

    for line in fleet.lines:
        if line["record"] == "visit":
            assert line["arrived_at"] >= fleet.watched_from[line["unit"]].isoformat()
    assert sum(unit["installed_on"] < unit["care_from"] for unit in units.values()) > len(units) / 5


def test_damage_to_records_is_what_the_plan_says():
    sound, damaged = made("risks"), made("risks", replace(Plan(), missing=0.6, wrong_reasons=0.5))
    readings = [sum(len(line.get("readings", ())) for line in fleet.lines) for fleet in (sound, damaged)]
    reasons = [
        Counter(part["reason"] for line in fleet.lines for part in line.get("replacements", ()))
        for fleet in (sound, damaged)
    ]

    assert readings[1] < 0.65 * readings[0]
    assert reasons[0]["unknown"] < 0.1 * reasons[0].total()
    assert reasons[1]["unknown"] > 0.15 * reasons[1].total()


DAYS = [date(2023, month, 1) for month in (1, 3, 5, 9)]
PAIR = ("sick", "pump")


@pytest.fixture
def by_hand():
    """Four pumps at one unit, three by the strainer; a healthy one for four years."""
    fleet = Fleet(end=date(2024, 1, 1), watched_from={"sick": date(2022, 1, 1), "well": date(2020, 1, 1)})
    fleet.recorded = {f"v{n}": instant(day) for n, day in enumerate(DAYS)}
    causes = ["", "strainer_blocked", "strainer_blocked", "strainer_blocked"]
    fleet.failures = [
        Failure(*PAIR, "pump-1", d, c, f"v{n}") for n, (d, c) in enumerate(zip(DAYS, causes, strict=True))
    ]
    fleet.planted = [Planted("unit", "sick", "strainer_blocked", ("pump",), frozenset(["sick"]))]
    return fleet


def test_a_flag_is_right_once_a_planted_cause_has_made_one_fail(by_hand):
    pairs = pairs_of(by_hand)
    early = Stated(*PAIR, DAYS[0], 0.1, "watch", "strainer_blocked")
    right = Stated(*PAIR, DAYS[2], 0.05, "probable", "strainer_blocked")
    other = Stated("well", "pump", DAYS[1], 0.05, "probable", "bath_low")

    assert [pairs.real(PAIR, day) for day in DAYS] == [False, True, True, True]
    row = score(pairs, [early, right, other], listed("probable")).row()
    assert row["flags"] == 2
    assert (row["precision"], row["recall"], row["right cause"]) == (0.5, 1.0, 1.0)
    assert row["false"] == pytest.approx(1000 / 4.0, rel=0.001)
    assert row["months"] == pytest.approx(61 / 30.44, rel=0.001)
    assert score(pairs, [early, right], listed("watch")).right == 0


def test_what_nobody_planted_is_real_from_the_second_failure_that_it_made(by_hand):
    by_hand.planted = []

    assert [pairs_of(by_hand).real(PAIR, day) for day in DAYS] == [False, False, True, True]


def test_what_was_recorded_late_is_real_late_and_what_was_not_recorded_never(by_hand):
    by_hand.recorded["v1"] = instant(DAYS[3])
    by_hand.failures[2] = replace(by_hand.failures[2], visit="")
    pairs = pairs_of(by_hand)

    assert [pairs.real(PAIR, day) for day in DAYS] == [False, False, False, True]
    assert pairs.hard == []


def test_bad_hands_and_bad_goods_are_not_held_apart_at_one_unit(by_hand):
    by_hand.failures = [replace(each, cause=each.cause and "after_repair") for each in by_hand.failures]

    assert pairs_of(by_hand).causes(PAIR, DAYS[3]) == {"after_repair", "bad_parts"}


def test_what_is_named_is_counted_by_the_true_cause_and_by_what_was_planted(by_hand):
    rows = [Stated(*PAIR, DAYS[2], 0.3, "watch", "bath_low"), Stated(*PAIR, DAYS[3], 0.1, "watch", "strainer_blocked")]

    assert named(pairs_of(by_hand), rows[:1]) == {"strainer_blocked": {"bath_low": 1}}
    assert wide(by_hand, rows[:1]) == {("unit", "strainer_blocked"): (1, 0)}
    assert wide(by_hand, rows) == {("unit", "strainer_blocked"): (1, 1)}


def test_chance_is_calibrated_where_it_is_stated_as_often_as_it_is_so(by_hand):
    rows = [Stated(*PAIR, day, 0.3, "watch", "x") for day in DAYS] + [Stated("well", "pump", DAYS[0], 0.96)]
    rows.append(Stated(*PAIR, date(2023, 10, 1), 0.3, "watch", "x", fresh=False))

    assert calibration(pairs_of(by_hand), rows, of_listed=True) == [(4, 0.3, 0.25)]
    assert calibration(pairs_of(by_hand), rows, of_listed=False) == [(1, 0.96, 1.0)]


def test_the_batch_and_the_careless_technician_are_found_over_the_fleet_and_nothing_where_none_is():
    fleet = made("stress", size=200)
    planted = {(each.level, each.key) for each in fleet.planted if each.level in ("model", "technician")}
    found = searched(filter(None, (parts_of_log(log, fleet.end) for log in logs_of(fleet).values())))
    healthy = made("stress", Plan(planted=False, rate=2.0), size=100)
    none = searched(filter(None, (parts_of_log(log, healthy.end) for log in logs_of(healthy).values())))

    assert {(each.level, each.key.removeprefix("Brindle ")) for each in found if each.tier == "strong"} == planted
    assert len(planted) == 2
    assert [each for each in none if each.tier != "watch"] == []


def few(name):
    """Of many units some that have to be found and some healthy ones at which most failed."""
    whole = made(name, size=200)
    pairs, failed = pairs_of(whole), Counter(each.unit for each in whole.failures)
    healthy = sorted(pairs.healthy, key=lambda tag: (-failed[tag], tag))[:12]
    return whole.only(frozenset([*healthy, *sorted({tag for tag, _ in pairs.hard})[:14]]))


@generators
def test_what_is_probable_is_right_from_what_was_recorded_by_then(name):
    """All of one replay, which takes its time: healthy units raise no alarm, and counting raises many."""
    fleet = few(name)
    logs, pairs = logs_of(fleet), pairs_of(fleet)
    rows = list(stated(logs, logs, {}))
    first = {
        tag: min((v.posted_at.date() for v in log.all_visits if v.replacements), default=None)
        for tag, log in logs.items()
    }
    assert all(each.day >= first[each.unit] for each in rows)
    assert {each.kind for each in rows} >= {"power_switch", "pump", "compressor", "condenser_fan"}

    ours = score(pairs, rows, listed("probable", "strong"))
    assert (ours.right, ours.false) == (ours.flags, 0)
    assert ours.flags >= 3

    assert score(pairs, rows, counting(logs, 2, 12)).false_alarms > 20
    counted = counting_scores(pairs, logs, rows)
    assert best(counted, 5.0).false_alarms <= 5.0
    assert best(counted, 5.0).recall <= best(counted, 1000.0).recall == max(each.recall for each in counted)
