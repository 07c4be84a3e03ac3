"""Failures whose day is not known exactly, against calculation by hand and against their days one by one.

A failure known to lie in an interval is interval-censored: its likelihood is that of each day of the interval, averaged
(Sun 2006, "The Statistical Analysis of Interval-censored Failure Time Data", chapter 1, from memory).
"""

from dataclasses import replace
from datetime import date, timedelta
from math import log
from random import Random

import pytest

from service.domain.plain import to_plain
from service.domain.record.imprecise_days import last_day, latest_by, uncertain
from service.domain.record.part_replaced import PartReplaced
from service.domain.root_causes import fleet_search
from service.domain.root_causes.after_remedy import after_remedy
from service.domain.root_causes.baselines import defaults
from service.domain.root_causes.causes import BY_CODE, causes_of
from service.domain.root_causes.engine import root_causes_of
from service.domain.root_causes.explanation import in_words
from service.domain.root_causes.exposure import at
from service.domain.root_causes.failures import REPORTED, STRENGTHS, failures_of
from service.domain.root_causes.figures import packed, unlikely_by_chance, unpacked
from service.domain.root_causes.fitted import Replaced, parts_of
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.views import View
from tests.simulation.values import component, done

START, END = date(2023, 1, 1), date(2025, 12, 31)
CLEANED = (done("condenser_clean", START, "done", "light"),)
VIEWS = [view for cause in causes_of("power_switch") for view in cause.views]
FOULED = VIEWS.index(BY_CODE["condenser_fouled"].views[0])


def failed(stated: str, latest: str, *, code="switch-1", condition="unknown") -> PartReplaced:
    plain = PartReplaced(
        code, "power_switch", date.fromisoformat(latest), "failed", condition, "reported", "others", "v"
    )
    text, earliest = uncertain(stated, START, plain.on)
    return replace(plain, stated=text, earliest=earliest)


def history(*replaced: PartReplaced, start=START, performed=CLEANED) -> FailureHistory:
    ordered = tuple(sorted(replaced, key=lambda each: each.on))
    switches = (component("switch-1", "power_switch"), component("switch-2", "power_switch"))
    return FailureHistory("GU-1", start, END, switches, replaced=ordered, performed=performed)


def track_of(known: FailureHistory, view: View):
    return view.track(known, "power_switch", None if view.of in ("unit", "kind") else "switch-1")


def test_exposure_to_a_rising_cause_counts_half_over_its_rise():
    """By hand: no exposure until day `none`, full from day `full`, straight between: 1/2 over just these days."""
    none, full = VIEWS[FOULED].limits
    rise = [(START + timedelta(days=days)).isoformat() for days in (none, full)]
    found = failures_of(history(failed("/".join(rise), rise[1])), "power_switch", END)

    assert found.scores[FOULED] == (pytest.approx(0.5, abs=0.01),)
    assert found.count == REPORTED
    for strength, (gain, _, _) in zip(STRENGTHS, found.gains[FOULED], strict=True):
        assert gain == pytest.approx(REPORTED * log(1 + (strength - 1) / 2), abs=0.02)


def test_the_exposure_of_an_interval_is_the_mean_of_its_days():
    known = history(failed("2023-02-01/2024-06-30", "2024-06-30"))
    found = failures_of(known, "power_switch", END)
    days = range(date(2023, 2, 1).toordinal(), date(2024, 6, 30).toordinal())

    for view, (score,) in zip(VIEWS, found.scores, strict=True):
        assert score == pytest.approx(sum(at(track_of(known, view), day) for day in days) / len(days), abs=0.003)
    assert 0.1 < found.scores[FOULED][0] < 1.0


@pytest.mark.parametrize(
    ("stated", "counted"),
    [
        (("2023-05-02", "2024-05-02"), 2),
        (("2023", "2024"), 2),
        (("2023", "2023-12"), 1),  # the second one may be the first
        (("2024-05", "2024-05-20"), 1),
        (("unknown", "2024-05-20"), 1),
        (("unknown", "unknown"), 1),
        (("2022", "2024-05-20"), 1),  # of the time before the unit was installed
    ],
)
def test_what_may_be_one_failure_counts_once(stated, counted):
    latest = {"2022": "2022-12-31", "2023": "2023-12-31", "2024": "2024-12-31", "unknown": "2025-06-01"}
    ends = {"2023-12": "2023-12-31", "2024-05": "2024-05-31"} | latest
    found = failures_of(history(*(failed(each, ends.get(each, each)) for each in stated)), "power_switch", END)

    assert (len(found.events), found.failure_days) == (counted, counted)


def test_two_switches_may_have_failed_on_one_day():
    """Each counts, but there are two days only where the days cannot be the same."""
    both = history(failed("2024", "2024-12-31"), failed("2024-05-20", "2024-05-20", code="switch-2"))
    found = failures_of(both, "power_switch", END)

    assert (len(found.events), found.failure_days) == (2, 1)


def test_one_that_may_be_of_the_time_before_our_care_does_not_count():
    watched = date(2024, 3, 1)
    outside = history(failed("2024", "2024-12-31"), failed("unknown", "2025-06-01"), start=watched)
    inside = history(failed("2024-03", "2024-03-31"), start=watched)

    assert (failures_of(outside, "power_switch", END).count, failures_of(outside, "power_switch", END).left_out) == (
        0,
        2,
    )
    assert failures_of(inside, "power_switch", END).count == REPORTED


@pytest.mark.parametrize(
    ("stated", "latest", "earliest"),
    [
        ("2022", "2022-12-31", date(2022, 1, 1)),  # before the installation: one of the dates is wrong
        ("2023", "2023-12-31", START),
        ("2021/2023-01", "2023-01-31", START),
        ("unknown", "2025-06-01", START),
        ("2023-05-20", "2023-05-20", None),
    ],
)
def test_the_first_day_possible_is_never_after_the_last(stated, latest, earliest):
    assert uncertain(stated, START, date.fromisoformat(latest))[1] == earliest


def test_the_days_reported_are_all_after_the_visits_own_where_it_lasted_beyond_midnight():
    """A month that begins on the day after the visit began counts from its first day."""
    days = [latest_by(text, date(2026, 9, 30)) for text in ("2026-10", "2026-09", "2026", "2026-10-01", "unknown")]

    assert days == [date(2026, 10, 1), *[date(2026, 9, 30)] * 2, date(2026, 10, 1), date(2026, 9, 30)]


LATE = tuple(f"2025-{month:02}-01" for month in range(5, 12))
UNTIL_2024 = tuple(done("condenser_clean", START + timedelta(days=d), "done", "light") for d in range(85, 700, 85))


def burnt(*stated: tuple[str, str]) -> FailureHistory:
    """Switches that burnt after the cleaning of the condenser had stopped, with what was written and the last day."""
    return history(*(failed(*each, condition="burnt") for each in stated), performed=UNTIL_2024)


def test_what_days_show_their_months_show_and_their_years_or_nothing_does_not():
    exact = root_causes_of(burnt(*((day, day) for day in LATE)), defaults(), END)
    ends = [(day[:7], last_day(day[:7]).isoformat()) for day in LATE]
    months = root_causes_of(burnt(*ends), defaults(), END)
    years, nothing = burnt(*(("2025", day) for day in LATE)), burnt(*(("unknown", day) for day in LATE))

    assert [each.causes[0].cause for each in (*exact, *months)] == ["condenser_fouled"] * 2
    assert months[0].probability_of_chance == pytest.approx(exact[0].probability_of_chance, rel=0.1)
    assert months[0].chance_of_so_many > exact[0].chance_of_so_many  # in more days, perhaps
    assert root_causes_of(years, defaults(), END) == root_causes_of(nothing, defaults(), END) == ()
    for each in (years, nothing):
        assert unlikely_by_chance(unpacked([packed(each, everything=True)]), defaults(), END.toordinal()) == []


def test_the_sentence_names_the_days_as_they_are_known():
    stated = ("2025-05", "2025-05-31"), ("2025-06-10/2025-07-20", "2025-07-20"), *((day, day) for day in LATE[3:])
    (found,) = root_causes_of(burnt(*stated), defaults(), END)
    facts = to_plain(found)
    text = in_words(facts)["explanation"]
    few = in_words(facts | {"events": facts["events"][:3]})["explanation"]

    assert "(2025-05-01 to 2025-11-01)" in text
    assert "within 6 months" in text  # 1 May to 1 November
    assert "(about 2025-05, between 2025-06-10 and 2025-07-20, 2025-08-01)" in few
    assert "All in the months" not in text


def test_blurring_the_days_of_healthy_units_makes_no_root_cause():
    """300 units of three years that fail by chance, 0.2 a year and switch; learned of as a year or not at all."""
    random, found = Random(20261127), {"exact": 0, "2024": 0, "unknown": 0}
    for _ in range(300):
        days = sorted(random.randrange(1096) for _ in range(sum(random.random() < 0.0002 for _ in range(2 * 1096 * 3))))
        texts = [(START + timedelta(days=day)).isoformat() for day in days]
        for blurred in found:
            stated = {"exact": lambda day: (day, day), "2024": lambda day: (day[:4], f"{day[:4]}-12-31"),
                      "unknown": lambda day: ("unknown", day)}[blurred]  # fmt: skip
            parts = [failed(*stated(day), code=f"switch-{1 + n % 2}") for n, day in enumerate(texts)]
            found[blurred] += len(root_causes_of(history(*parts), defaults(), END))

    assert found["unknown"] <= found["2024"] <= found["exact"]
    assert found["unknown"] == 0


@pytest.mark.parametrize(
    ("stated", "latest", "before", "after"),
    [
        ("2024-04", "2024-04-30", 1, 0),
        ("2024-05", "2024-05-31", 0, 0),
        ("2024-06", "2024-06-30", 0, 1),
        ("unknown", "2024-04-30", 1, 0),
        ("unknown", "2024-06-30", 0, 0),
    ],
)
def test_a_failure_that_may_be_before_or_after_the_remedy_is_neither(stated, latest, before, after):
    found = after_remedy(history(failed(stated, latest)), "power_switch", date(2024, 5, 15))

    assert (found.before, found.after) == (before, after)


def test_a_failure_that_was_seen_and_reported_as_a_month_is_one_failure_before_the_remedy():
    both = history(failed("2024-04", "2024-04-30"), failed("2024-04-12", "2024-04-12"))

    assert after_remedy(both, "power_switch", date(2024, 5, 15)).before == 1


@pytest.mark.parametrize(
    ("earliest", "latest", "early", "days"),
    [
        (date(2024, 3, 1), date(2024, 3, 31), 1, 75),  # 60 and 90 days
        (date(2024, 11, 1), date(2025, 3, 31), 0, 335),  # 305 and more than 365 days
        (date(2024, 1, 1), date(2024, 3, 31), 1, 45),  # between the fitting and 90 days after it
    ],
)
def test_an_item_that_was_replaced_on_an_unknown_day_lived_for_the_mean_of_what_is_possible(
    earliest, latest, early, days
):
    """By hand: over its first 365 days it is watched for the mean of the shortest and the longest possible time."""
    new = Replaced("switch-1", "power_switch", date(2024, 1, 1), "failed", "burnt", by_us=True)
    then = Replaced("switch-1", "power_switch", latest, "failed", "burnt", by_us=False, exact=False, earliest=earliest)
    (item, *_) = parts_of("GU-1", (START, END), [new, then]).fitted

    assert len(fleet_search._early([item], 365)) == early
    assert fleet_search._years([item], 365) * 365.25 == pytest.approx(days)


@pytest.mark.parametrize("earliest", [None, date(2023, 12, 1)])
def test_an_item_of_which_nobody_knows_whether_it_was_replaced_after_its_fitting_has_no_life(earliest):
    """What was reported may have been made before: then the item did not fail, and is still there."""
    new = Replaced("switch-1", "power_switch", date(2024, 1, 1), "failed", "burnt", by_us=True)
    then = Replaced(
        "switch-1", "power_switch", date(2024, 3, 31), "failed", "burnt", by_us=False, exact=False, earliest=earliest
    )

    assert parts_of("GU-1", (START, END), [new, then]).fitted == ()
