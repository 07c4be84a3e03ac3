"""What fails soon after what: counted over a fleet, shown of one unit."""

import json
from datetime import date, timedelta

import pytest
from scipy.stats import poisson

from service.domain.record.part_replaced import PartReplaced
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.sequences import (
    Counts,
    Sequence,
    counted,
    followed,
    found,
    from_plain,
    plain,
)
from tests.simulation.sequences import SequencePlan, measured_sequences, sequence_fleet

START = date(2025, 1, 1)
STANDING = Sequence("pump", "power_switch", 20, 3.0, 24 / 7, 1e-9, stands=True)


def event(kind, day, reason="failed", place=1, condition="burnt"):
    return PartReplaced(
        f"{kind}-{place}", kind, START + timedelta(days=day), reason, condition, "seen", "us", f"visit of day {day}"
    )


def unit(*events, days=300):
    return FailureHistory("GU-1", START, START + timedelta(days=days - 1), replaced=events)


def of(counts, after="pump", kind="power_switch"):
    return next((each for each in found(counts) if (each.after, each.kind) == (after, kind)), None)


@pytest.mark.parametrize(("later", "observed"), [(-1, 0), (0, 0), (1, 1), (30, 1), (31, 0)])
def test_the_window_opens_the_day_after_and_closes_with_the_thirtieth(later, observed):
    assert of(Counts().add(unit(event("pump", 100), event("power_switch", 100 + later)))).observed == observed


def test_what_is_expected_is_the_units_own_rate_times_the_days_in_windows():
    """By hand: 3 switches in 300 days, windows of 30 days after day 100 and 10 after day 289: 3 x 40 / 300."""
    switches = [event("power_switch", day) for day in (10, 200, 250)]

    assert of(Counts().add(unit(event("pump", 100), event("pump", 289), *switches))).expected == pytest.approx(0.4)


def test_windows_that_overlap_count_once():
    """By hand: pumps on days 100 and 110 leave days 101 to 140 but for none twice: 1 x 40 / 300."""
    shown = of(Counts().add(unit(event("pump", 100), event("pump", 110), event("power_switch", 115))))

    assert (shown.observed, shown.expected) == (1, pytest.approx(40 / 300))


def test_the_ratio_is_drawn_to_one_and_the_chance_is_poissons():
    """By hand: 6 units with one switch each in a window of 30 of 300 days: 0.6 expected; scipy's Poisson."""
    shown = of(counted([unit(event("pump", 100), event("power_switch", 110))] * 6))

    assert (shown.observed, shown.ratio) == (6, pytest.approx(10 / 4.6))
    assert shown.chance >= poisson.sf(5, 0.6)


@pytest.mark.parametrize("reason", ["precaution", "upgrade"])
def test_only_failures_lead_or_follow(reason):
    before = unit(event("pump", 100, reason, condition="worn"), event("power_switch", 110))
    after = unit(event("pump", 100), event("power_switch", 110, reason, condition="worn"))

    assert found(counted([before, after])) == ()


def test_an_unknown_reason_is_a_failure_where_it_was_found_broken():
    worn = unit(event("pump", 100, "unknown", condition="seized"), event("power_switch", 110))

    assert of(Counts().add(worn)).observed == 1


def test_one_failure_told_twice_counts_once_and_two_places_count_twice():
    twice = unit(event("pump", 100), event("power_switch", 110), event("power_switch", 110))
    two = unit(event("pump", 100), event("power_switch", 110), event("power_switch", 110, place=2))

    assert (of(Counts().add(twice)).observed, of(Counts().add(two)).observed) == (1, 2)


def test_a_pair_stands_only_among_as_many_as_were_looked_at():
    """By hand: 4 where 0.4 were expected have a chance of 0.001 to 0.002: enough among 2 pairs, not among 380."""
    pairs = [unit(event("pump", 100), event("power_switch", 110))] * 4
    others = [unit(event(f"kind {i}", 5)) for i in range(18)]

    assert of(counted(pairs)).stands
    assert not of(counted(pairs + others)).stands


def test_a_bad_spell_in_which_two_kinds_fail_in_any_order_makes_no_pair():
    forth, back = (unit(event("pump", p), event("power_switch", s)) for p, s in ((100, 110), (110, 100)))

    assert of(counted([forth] * 12)).stands
    assert not any(each.stands for each in found(counted([forth, back] * 12)))


def test_what_crowds_before_raises_what_is_expected_after():
    """By hand: 6 units, 0.6 expected on either side, 6 seen before: 0.6 x (6 + 10) / (0.6 + 10)."""
    back = unit(event("pump", 110), event("power_switch", 100))

    assert of(counted([back] * 6)).expected == pytest.approx(0.6 * 16 / 10.6)


def test_unit_by_unit_is_the_same_as_all_at_once():
    fleet = list(sequence_fleet(60, 5, SequencePlan(0.3)))
    halves = counted(fleet[:30])
    for history in fleet[30:]:
        halves = halves.add(history)

    assert found(halves) == found(counted(fleet))
    assert len(halves.pairs) <= 20


def test_what_was_found_comes_back_from_json():
    sequences = found(counted(sequence_fleet(100, 5, SequencePlan(0.3))))

    assert from_plain(json.loads(json.dumps(plain(sequences)))) == sequences
    assert from_plain({}) == ()


def test_one_units_failure_is_told_with_what_came_before_and_the_fleets_ratio():
    history = unit(event("pump", 80), event("pump", 100), event("compressor", 105), event("power_switch", 110))

    fan, pump = followed(history, "power_switch", [STANDING])
    assert (fan.before.kind, fan.days, fan.sequence) == ("compressor", 5, None)
    assert (pump.before.on, pump.days, pump.sequence) == (START + timedelta(days=100), 10, STANDING)


@pytest.mark.parametrize(("kind", "later"), [("power_switch", 0), ("power_switch", 31), ("compressor", 5)])
def test_nothing_is_told_where_nothing_followed(kind, later):
    assert followed(unit(event("pump", 100), event("power_switch", 100 + later)), kind, [STANDING]) == ()


def test_a_sequence_that_does_not_stand_is_not_told():
    weak = Sequence("pump", "power_switch", 2, 1.0, 1.2, 0.26, stands=False)

    (shown,) = followed(unit(event("pump", 100), event("power_switch", 110)), "power_switch", [weak])
    assert shown.sequence is None


def test_what_is_dated_outside_the_record_and_an_end_before_the_start_are_borne():
    outside = unit(event("pump", -400), event("power_switch", -395), event("pump", 5000))
    backwards = unit(event("pump", 1), event("power_switch", 2), days=-50)

    assert counted([outside, backwards, unit()]) == Counts()


def test_ten_thousand_replacements_are_borne():
    many = unit(*(event(kind, i % 1000, place=i) for i in range(5000) for kind in ("pump", "power_switch")), days=1000)

    assert of(Counts().add(many)).observed == len(followed(many, "power_switch", [])) == 4995


def test_one_in_ten_is_found_in_made_fleets_and_harsh_sites_make_no_pairs():
    """Known truth, seed fixed, 8 fleets of 300 units and three years."""
    planted, none = (measured_sequences(8, 300, 1, SequencePlan(share)) for share in (0.1, 0.0))

    assert planted["found"] >= 0.8
    assert max(planted["false"], none["false"]) <= 0.02
