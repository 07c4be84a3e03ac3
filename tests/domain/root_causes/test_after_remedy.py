"""Whether a remedy worked: counts before and after it."""

from dataclasses import replace
from datetime import date

import pytest

from service.domain.record.part_replaced import PartReplaced
from service.domain.root_causes.after_remedy import after_remedy, judged
from service.domain.root_causes.history import FailureHistory
from tests.simulation.values import component

FIXED = date(2025, 1, 1)


def history(*days, end=date(2026, 1, 1), places=1, **shown):
    switches = tuple(component(f"switch-{n}", "power_switch") for n in range(1, places + 1))
    given = {"reason": "failed", "condition": "burnt", "evidence": "seen", "by": "us"} | shown
    failed = tuple(
        PartReplaced(component="switch-1", kind="power_switch", on=day, visit=f"v{n}", **given)
        for n, day in enumerate(days)
    )
    return FailureHistory("GU-1", date(2023, 7, 3), end, switches, replaced=failed)


def test_four_before_and_none_in_the_year_after_is_too_early_to_tell():
    """4 in 1.5 years before, 0 in the year after: 0.130 by the exact binomial, computed elsewhere (0.6 ** 4)."""
    shown = judged(before=4, after=0, years_before=1.5, years_after=1.0)

    assert (shown.chance, shown.verdict) == (pytest.approx(0.130, abs=5e-4), "too early to say")


@pytest.mark.parametrize(
    ("counts", "years", "verdict"),
    [
        ((4, 0), (1.5, 1.2), "it worked"),  # (1.5 / 2.7) ** 4 = 0.095
        ((4, 1), (1.5, 4.0), "it worked"),  # binomial, 4 or 5 of 5 at 3/11: 0.022
        ((4, 1), (1.5, 1.0), "too early to say"),
        ((4, 2), (1.5, 0.75), "still failing"),
        ((0, 0), (1.5, 1.0), "too early to say"),
        ((0, 1), (0.0, 1.0), "still failing"),
        ((4, 0), (1.5, 0.0), "too early to say"),
        ((0, 0), (0.0, 0.0), "too early to say"),
    ],
)
def test_a_verdict_waits_until_it_may_speak(counts, years, verdict):
    shown = judged(before=counts[0], after=counts[1], years_before=years[0], years_after=years[1])

    assert shown.verdict == verdict


def test_failures_of_the_day_of_the_remedy_are_before_it():
    shown = after_remedy(history(date(2024, 6, 1), FIXED, date(2025, 1, 2)), "power_switch", FIXED)

    assert (shown.before, shown.after) == (2, 1)


def test_time_is_counted_in_component_years():
    """2023-07-03 to 2025-01-01 are 548 days, from there to 2026-01-01 365."""
    one, two = (after_remedy(history(places=n), "power_switch", FIXED) for n in (1, 2))

    assert (one.years_before, one.years_after) == (1.5, 1.0)
    assert (two.years_before, two.years_after) == (3.0, 2.0)


def test_precautions_and_other_kinds_are_no_failures():
    assert (
        after_remedy(history(date(2024, 6, 1), reason="precaution", condition="worn"), "power_switch", FIXED).before
        == 0
    )
    assert after_remedy(history(date(2024, 6, 1)), "pump", FIXED).before == 0


@pytest.mark.parametrize(
    ("condition", "chance", "verdict"),
    [("good", 0.6**5, "it worked"), ("worn", 6 * 0.6**5 * 0.4 + 0.6**6, "too early to say")],
)
def test_a_remedy_is_not_said_to_have_worked_where_a_part_may_have_failed_since(condition, chance, verdict):
    """Five in 1.5 years, and in the year after one replaced for a reason that nobody knows: the binomial by hand."""
    failed = history(*(date(2024, month, 1) for month in range(1, 6)))
    since = history(date(2025, 7, 1), reason="unknown", condition=condition)
    shown = after_remedy(replace(failed, replaced=(*failed.replaced, *since.replaced)), "power_switch", FIXED)

    assert (shown.before, shown.after, shown.verdict) == (5, 0, verdict)
    assert shown.chance == pytest.approx(chance, abs=0.002)


def test_a_remedy_later_than_the_record_is_too_early_to_tell():
    assert after_remedy(history(date(2024, 6, 1), end=date(2024, 7, 1)), "power_switch", FIXED).years_after == 0.0
