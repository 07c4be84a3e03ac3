"""Whether a remedy worked: failures and component-years before and after it, each by hand."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from service.domain.condition.latest import Worry
from service.domain.record.fleet import Component, Site, Unit
from service.domain.record.part_replaced import PartReplaced
from service.domain.record.unit_log import UnitLog
from service.domain.root_causes.life_cycle import RootCause
from service.domain.summary import for_customer
from service.domain.summary.actions import Found, actions, words_of
from service.domain.summary.lines import LATE, MISSED, Cause, PmLine
from service.domain.summary.not_done import NotDone
from service.domain.summary.root_causes import root_causes_of
from service.domain.summary.window import Window
from service.rendering.words import worded

INSTALLED, RESOLVED, TODAY = date(2024, 11, 19), date(2026, 5, 20), date(2026, 11, 20)  # 1.5 and 0.5 years
YEAR = Window(date(2026, 1, 1), TODAY, TODAY)
SEEN = datetime(2026, 3, 1, 12, tzinfo=UTC)
DOCUMENT = json.dumps({"explanation": "e", "causes": [], "next_check": "n", "remedy": "r"})


def part(on, **more):
    given = {"component": "pump-1", "kind": "pump", "reason": "failed", "condition": "seized"} | more
    return PartReplaced(on=date.fromisoformat(on), evidence="seen", by="us", visit="v", **given)


def line(*parts, resolved_on=RESOLVED, pumps=1, document=DOCUMENT):
    found = RootCause(
        unit="GU-1", kind="pump", tier="probable", probability_of_chance=0.04, document=document, evidence_key="e",
        first_seen=SEEN, updated_at=SEEN, state="resolved", resolved_on=resolved_on,
    )  # fmt: skip
    components = tuple(Component(code=f"pump-{number}", kind="pump") for number in range(pumps))
    unit = Unit(tag="GU-1", site="quay", installed_on=INSTALLED, registered_on=INSTALLED, components=components)
    site = Site(code="quay", customer="lantern", name="Quay", time_zone="UTC")
    log = UnitLog(unit=unit, site=site, until=datetime(2026, 11, 20, 12, tzinfo=UTC))
    (of_unit,) = root_causes_of(log, sorted(parts, key=lambda part: part.on), [found], YEAR)
    return of_unit.line


@pytest.mark.parametrize(
    ("ours", "said"), [(True, "Cleaning it is our work; our dates for it were too far apart."), (False, None)]
)
def test_a_condenser_that_is_the_customers_to_clean_is_not_said_to_be_ours(ours, said):
    dirty = replace(
        line(part("2025-11-01")), causes=(Cause(cause="condenser_fouled", probability=0.8),), resolved_on=None
    )
    here = for_customer.FoundHere(line=dirty, days=((date(2025, 11, 1), None),))

    (shown,) = for_customer.root_causes_for_customer([here], [], 2026, ours=ours)
    open_one = replace(dirty, tier="strong", state="open")
    found = Found(
        tag="GU-1", visits=(), dangers=(), worries=(), root_causes=[open_one], pm_lines=(), plan=(),
        plan_from=TODAY, out=False, cleans=ours,
    )  # fmt: skip
    decide = [each.what for each in actions(found) if each.who == "you"]

    assert shown.ours == said
    assert ("We will clean" in shown.do) == ours
    assert [each[:26] for each in decide] == ([] if ours else ["Have the condenser cleaned"])


@pytest.mark.parametrize(
    ("late", "missed", "said"),
    [
        (1, 0, "in 2026 it was late once."),
        (0, 1, "in 2026 it was not done by its date once."),
        (2, 3, "in 2026 it was late 2 times and not done by its date 3 times."),
    ],
)
def test_a_cleaning_of_ours_that_was_late_or_not_done_is_said_plainly(late, missed, said):
    cleaning = PmLine(
        unit="GU-1", task="condenser_clean", name="Condenser cleaning", due_on=SEEN.date(), done_on=None, state=LATE,
        days_late=None, as_found=None, interval=None, why=None,
    )  # fmt: skip
    lines = [cleaning] * late + [replace(cleaning, state=MISSED)] * missed

    assert worded(for_customer._ours(lines, 2026)) == f"Cleaning it is our work: {said}"


def test_four_failures_and_none_in_half_a_year_are_too_early_to_say():
    """By hand: 0.75^4 = 0.316."""
    found = line(*map(part, ("2025-02-01", "2025-06-01", "2025-11-01", "2026-03-01")))

    assert (found.failed_before, found.failed_after, found.years_before, found.years_after) == (4, 0, 1.5, 0.5)
    assert (round(found.chance, 3), found.verdict) == (0.316, "too early to say")


def test_nine_failures_before_and_none_after_say_that_it_worked():
    """By hand: 0.75^9 = 0.075."""
    found = line(*(part(f"2025-{month:02}-11") for month in range(3, 12)))

    assert (round(found.chance, 3), found.verdict) == (0.075, "it worked")


def test_a_part_that_may_have_failed_since_keeps_it_from_being_said_to_have_worked():
    """By hand: 10 x 0.75^9 x 0.25 + 0.75^10 = 0.244."""
    since = part("2026-10-01", reason="unknown", condition="worn")
    found = line(*(part(f"2025-{month:02}-11") for month in range(3, 12)), since)

    assert (found.failed_before, found.failed_after) == (9, 0)
    assert (round(found.chance, 3), found.verdict) == (0.244, "too early to say")


def test_failures_as_frequent_as_before_say_that_it_is_still_failing():
    assert line(*map(part, ("2025-06-01", "2026-01-10", "2026-08-01"))).verdict == "still failing"


def test_no_failure_at_all_is_too_early_to_say():
    assert (line().chance, line().verdict) == (None, "too early to say")


@pytest.mark.parametrize(
    ("more", "failed"),
    [
        ({"reason": "precaution", "condition": "worn"}, 0),
        ({"reason": "precaution", "condition": "burnt"}, 1),
        ({"reason": "unknown", "condition": "seized"}, 1),
        ({"reason": "unknown", "condition": "worn"}, 0),
        ({"kind": "condenser_fan"}, 0),
    ],
)
def test_what_counts_as_a_failure_of_the_kind(more, failed):
    assert line(part("2025-06-01", **more)).failed_before == failed


def test_one_place_fails_once_a_day_and_two_places_live_twice_the_years():
    found = line(part("2025-06-01"), part("2025-06-01"), part("2025-06-01", component="pump-2"), pumps=2)

    assert (found.failed_before, found.years_before) == (2, 3.0)


def test_a_remedy_yet_to_come_is_not_judged():
    assert line(part("2025-06-01"), resolved_on=date(2026, 12, 1)).verdict is None


def test_what_kept_us_from_the_cleaning_is_said_as_it_was_recorded():
    kept = NotDone(visits=4, last=date(2026, 3, 11), why="kitchen in service, no access.")

    assert worded(for_customer._ours([], 2026, kept)).endswith(
        "At 4 visits it was not done, last on 2026-03-11: kitchen in service, no access."
    )


@pytest.mark.parametrize(("assumed", "said"), [(False, "was dirty for long"), (True, "may have been dirty")])
def test_a_condenser_that_nobody_found_dirty_is_not_called_dirty(assumed, said):
    found = replace(line(part("2026-03-01")), causes=(Cause(cause="condenser_fouled", probability=0.9),))

    assert said in worded(words_of(replace(found, assumed=assumed), ours=True).think)


@pytest.mark.parametrize(
    ("plates", "said"), [({}, "its rating is not recorded"), ({"switch-1": "10 A"}, "more motor current than")]
)
def test_a_switch_whose_rating_nobody_recorded_is_not_called_overloaded(plates, said):
    overload = {"causes": [{"cause": "switch_undersized", "probability": 0.97}], "nameplates": plates}
    found = line(part("2026-03-01"), document=json.dumps(json.loads(DOCUMENT) | overload))

    assert said in worded(words_of(found, ours=True).think)


def test_a_joint_that_was_last_measured_bad_is_a_danger_that_the_letter_names():
    """1.3 V over a closed contact at 7 A is 9 W in one joint: Joule's law; a trade training page, tenths are bad."""
    code = "contact_drop_bad"
    worries = [Worry(code=each, component="switch-1", sentence="s", source="t") for each in (code, "terminal_hot")]
    known = {
        "visits": (),
        "dangers": (),
        "root_causes": (),
        "pm_lines": (),
        "plan": (),
        "plan_from": TODAY,
        "out": False,
    }
    (action,) = actions(Found(tag="GU-1", worries=worries, **known))

    assert (action.basis, action.who) == ("danger", "we")
    assert worded(action.what) == "With the power off, repair the bad connection."
