"""Due dates by the rules as written; calendar dates are those of any printed calendar of 2026."""

import random
from dataclasses import replace
from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.due import LatestOutcome, due_items
from service.domain.maintenance.tasks import AS_FOUND, RESULTS, STEPPED, Interval, Task
from service.domain.record.care import Care, LastDone, Planned
from service.domain.record.pauses import Span
from service.domain.record.unit_log import Performed

MONDAY, TUESDAY, SUNDAY = 0, 1, 6
EVERY_DAY = frozenset(range(7))
REGISTERED = date(2026, 1, 5)
QUARTER = Interval(3, "month")


def task(code="condenser_clean", interval=QUARTER, **changes):
    facts = {
        "name": "Condenser cleaning", "shortest": Interval(1, "day"), "longest": Interval(12, "month"), "minutes": 30,
        "bring": (), "cautions": (), "source": "test", "adapts": True, "surroundings": (("greasy", 1 / 3),),
    }  # fmt: skip
    return Task(code=code, interval=interval, **{**facts, **changes})


CLEAN = task()
FOLLOW_UP = task("follow_up", None, name="Follow-up", shortest=None, longest=None)


def did(on, as_found=None, result="done", reason=None, code="condenser_clean", by="us"):
    return Performed(code, date.fromisoformat(on), result, as_found, reason, by=by)


def due(*performed, tasks=(CLEAN,), installed_on=None, surroundings=None, closed=(), latest=None, care=None):
    return due_items(
        tasks=tasks,
        performed=performed,
        installed_on=installed_on and date.fromisoformat(installed_on),
        registered_on=REGISTERED,
        surroundings=surroundings,
        closed_weekdays=frozenset(closed),
        latest=latest,
        care=Care(**care or {}),
    )


def only(*performed, **facts):
    (item,) = due(*performed, **facts)
    return item


def left(outcome):
    return only(tasks=(FOLLOW_UP,), latest=LatestOutcome("v1", date(2026, 6, 9), outcome))


def test_a_task_is_due_its_interval_after_it_was_last_done():
    item = only(did("2026-03-02"))
    assert (item.due_on, item.basis, item.interval) == (date(2026, 6, 2), "interval", "3 months")
    assert item.last_done_on == date(2026, 3, 2)
    assert item.why == "Condenser cleaning: done on 2026-03-02; interval 3 months."


def test_the_reason_holds_all_that_applied():
    # 1 month counts 30 days; x 0.75 = 22.5, to even
    item = only(did("2026-03-02", "heavy"), installed_on="2026-02-01", surroundings="greasy", closed={TUESDAY})
    assert item.due_on == date(2026, 3, 23)
    assert item.why == (
        "Condenser cleaning: done on 2026-03-02, heavily fouled after 29 days; interval 22 days instead of 3 months: "
        "x 1/3 for greasy surroundings, shortened to 22 days because heavily fouled. "
        "The site is closed on Tuesdays, so it is due on Monday 2026-03-23, the last open day before."
    )


def test_the_sentence_names_day_grade_days_in_service_and_interval():
    item = only(did("2026-09-23"), did("2026-10-24", "light"), surroundings="greasy")
    assert item.why == (
        "Condenser cleaning: done on 2026-10-24, lightly fouled after 31 days; "
        "interval 1 month instead of 3 months: x 1/3 for greasy surroundings."
    )


def test_work_reported_by_others_says_so():
    item = only(did("2026-03-01"), did("2026-03-02", "clean", by="others"))
    assert item.why == (
        "Condenser cleaning: done on 2026-03-02, clean after 1 day, reported by others; interval 3 months."
    )


@pytest.mark.parametrize("order", [1, -1])
def test_our_own_work_of_a_day_outranks_that_reported_by_others(order):
    both = [did("2026-03-02"), did("2026-03-02", by="others")][::order]
    assert "others" not in only(*both).why


@pytest.mark.parametrize(("last", "due_on"), [("2026-08-31", "2027-02-28"), ("2027-08-31", "2028-02-29")])
def test_half_a_year_from_the_last_of_august_is_the_last_of_february(last, due_on):
    assert only(did(last), tasks=(task(interval=Interval(6, "month")),)).due_on.isoformat() == due_on


@given(st.dates(date(1990, 1, 1), date(2090, 1, 1)), st.integers(1, 12))
def test_plain_due_dates_agree_with_dateutil(last, months):
    item = only(did(last.isoformat()), tasks=(task(interval=Interval(months, "month")),))
    assert item.due_on == last + relativedelta(months=months)


def test_grades_that_change_the_interval_make_the_basis_condition():
    item = only(did("2026-03-02", "blocked"), installed_on="2025-12-01")  # 91 days
    assert (item.basis, item.interval, item.due_on) == ("condition", "46 days", date(2026, 4, 17))  # 91 x 0.5 = 45.5


def test_grades_that_change_nothing_leave_the_basis_interval():
    item = only(did("2026-03-02", "light"))
    assert (item.basis, item.interval) == ("interval", "3 months")
    assert "done on 2026-03-02, lightly fouled; interval" in item.why


def test_surroundings_alone_leave_the_basis_interval():
    item = only(did("2026-03-02"), surroundings="greasy")
    assert (item.basis, item.interval, item.due_on) == ("interval", "1 month", date(2026, 4, 2))


def test_two_clean_grades_in_a_row_lengthen():
    quarterly = [did("2026-01-02", "clean"), did("2026-04-02", "clean")]
    assert only(*quarterly, installed_on="2025-10-02").interval == "114 days"  # 91 x 1.25 = 113.75


def test_a_look_that_needed_nothing_counts_as_done():
    item = only(did("2026-01-02", "clean"), did("2026-04-02", "clean", "not_needed"), installed_on="2025-10-02")
    assert (item.last_done_on, item.interval) == (date(2026, 4, 2), "114 days")
    assert item.why.startswith("Condenser cleaning: not needed on 2026-04-02, clean after 90 days; interval 114 days")


def test_eight_looks_at_a_clean_coil_on_eight_days_leave_the_interval():
    looks = [did(f"2026-03-{day:02}", "clean", "not_needed") for day in range(1, 9)]
    item = only(*looks, installed_on="2025-10-02")
    assert (item.interval, item.basis, item.due_on) == ("3 months", "interval", date(2026, 6, 8))


def test_blocked_after_seventeen_months_of_neglect_leaves_the_interval():
    item = only(did("2026-03-02", "blocked"), installed_on="2024-10-02")
    assert item.why == "Condenser cleaning: done on 2026-03-02, blocked after 516 days; interval 3 months."


def test_a_deep_cleaning_restarts_the_days_in_service_of_the_cleaning():
    small = task(also_by=("condenser_deep_clean",))
    deep = did("2026-01-02", code="condenser_deep_clean")
    item = only(did("2025-10-02"), deep, did("2026-02-01", "light"), tasks=(small,))
    assert "lightly fouled after 30 days" in item.why


def test_work_not_done_counts_as_none_and_its_reason_is_given():
    item = only(did("2026-03-02"), did("2026-05-20", "blocked", "not_done", "roof was iced over."))
    assert (item.due_on, item.basis) == (date(2026, 6, 2), "interval")
    assert item.why.endswith("; interval 3 months. Not done on 2026-05-20: roof was iced over.")


def test_only_the_latest_reason_since_the_last_time_it_was_done_is_given():
    missed = [did(day, None, "not_done", f"reason of {day}") for day in ("2026-02-01", "2026-05-01", "2026-04-01")]
    assert only(did("2026-03-02"), *missed).why.count("reason of") == 1
    assert "reason of 2026-05-01" in only(did("2026-03-02"), *missed).why


@pytest.mark.parametrize("done_on", ["2026-05-20", "2026-05-21"])
def test_a_reason_is_forgotten_once_the_work_is_done(done_on):
    assert "Not done" not in only(did("2026-05-20", None, "not_done", "no key"), did(done_on)).why


@pytest.mark.parametrize("reason", [None, "", "  ", "."])
def test_a_missing_reason_is_reported_as_missing(reason):
    assert only(did("2026-05-20", None, "not_done", reason)).why.endswith("Not done on 2026-05-20: no reason given.")


def test_a_unit_never_visited_is_due_its_interval_after_the_installation():
    item = only(installed_on="2025-11-30")
    assert (item.due_on, item.basis, item.last_done_on) == (date(2026, 2, 28), "first_visit", None)
    assert item.why == "Condenser cleaning: not recorded yet, installed on 2025-11-30; interval 3 months."


def test_surroundings_bring_the_first_visit_forward():
    item = only(installed_on="2025-12-30", surroundings="greasy")
    assert (item.due_on, item.basis, item.interval) == (date(2026, 1, 30), "first_visit", "1 month")


def test_without_an_installation_date_it_is_due_on_the_day_of_registration():
    item = only()
    assert (item.due_on, item.basis, item.interval) == (REGISTERED, "first_visit", "3 months")
    assert item.why == (
        "Condenser cleaning: not recorded yet, the installation date is not known; interval 3 months. "
        "The unit was registered on 2026-01-05, so it is due from then on."
    )


def test_what_was_never_done_is_not_due_before_our_care():
    item = only(installed_on="2013-05-04")
    assert (item.due_on, item.basis) == (REGISTERED, "first_visit")
    assert item.why.endswith("installed on 2013-05-04; interval 3 months. "
                             "The unit was registered on 2026-01-05, so it is due from then on.")  # fmt: skip
    cared = only(installed_on="2013-05-04", care={"care_from": date(2025, 11, 3)})
    assert cared.due_on == date(2025, 11, 3)
    assert cared.why.endswith(" Our care began on 2025-11-03, so it is due from then on.")


@pytest.mark.parametrize(
    ("by", "facts", "due_on"),
    [
        ("us", {}, date(2025, 6, 1)),  # we did it ourselves, so we were there
        ("others", {}, REGISTERED),
        ("us", {"care_from": date(2025, 9, 1)}, date(2025, 9, 1)),
        ("others", {"care_from": date(2025, 4, 1)}, date(2025, 6, 1)),
    ],
)
def test_a_date_before_our_care_is_due_when_it_began(by, facts, due_on):
    assert only(did("2025-03-01", by=by), care=facts).due_on == due_on


def test_the_start_of_our_care_on_a_closed_day_goes_forward():
    # 2026-03-01 is a Sunday
    assert only(closed={SUNDAY}, care={"care_from": date(2026, 3, 1)}).due_on == date(2026, 3, 2)


@pytest.mark.parametrize(
    ("on", "due_on", "last_done_on", "words"),
    [
        ("2025-11-14", date(2026, 2, 14), date(2025, 11, 14), "done on 2025-11-14 as reported before our care;"),
        ("2025-11", date(2026, 2, 1), None, "done in 2025-11 as reported before our care, counted from 2025-11-01;"),
        ("2025", REGISTERED, None, "done in 2025 as reported before our care, counted from 2025-01-01;"),
    ],
)
def test_what_was_done_before_our_care_counts_from_its_earliest_day(on, due_on, last_done_on, words):
    item = only(installed_on="2013-05-04", care={"last_done": (LastDone(task="condenser_clean", on=on),)})
    assert (item.due_on, item.basis, item.last_done_on) == (due_on, "reported", last_done_on)
    assert words in item.why


def test_what_was_done_on_a_day_nobody_knows_is_due_from_our_care_on():
    item = only(installed_on="2013-05-04", care={"last_done": (LastDone(task="condenser_clean"),)})
    assert (item.due_on, item.basis, item.last_done_on) == (REGISTERED, "first_visit", None)
    assert item.why.startswith("Condenser cleaning: last done on an unknown day, installed on 2013-05-04;")


def test_a_visit_outranks_what_was_reported_and_its_days_in_service_count_from_a_known_day_only():
    done = did("2026-02-01", "clean")
    exact, month = ({"last_done": (LastDone(task="condenser_clean", on=on),)} for on in ("2025-11-03", "2025-11"))
    assert only(done, care=exact).why.startswith("Condenser cleaning: done on 2026-02-01, clean after 90 days;")
    assert only(done, care=month).why.startswith("Condenser cleaning: done on 2026-02-01, clean; interval 3 months")
    assert only(done, care=month).last_done_on == date(2026, 2, 1)  # though the one before it is not known


PLAN = {"planned": {"condenser_clean": Planned(date(2026, 2, 16), date(2026, 1, 12))}}


def test_a_planned_first_date_holds_until_the_task_is_done():
    item = only(installed_on="2013-05-04", care=PLAN)
    assert (item.due_on, item.basis) == (date(2026, 2, 16), "onboarding")
    assert item.why.endswith("interval 3 months. The onboarding plan from 2026-01-12 lays it on 2026-02-16.")
    assert only(did("2026-01-11"), care=PLAN).basis == "onboarding"
    assert only(did("2026-01-12"), care=PLAN).due_on == date(2026, 4, 12)


def test_a_planned_first_date_moves_off_a_day_that_was_closed_since():
    assert only(care=PLAN, closed={MONDAY}).due_on == date(2026, 2, 15)


def test_work_never_done_but_tried_is_still_a_first_visit_and_has_its_reason():
    item = only(did("2026-02-03", None, "not_done", "no access"), installed_on="2025-11-30")
    assert (item.due_on, item.basis) == (date(2026, 2, 28), "first_visit")
    assert item.why.endswith("Not done on 2026-02-03: no access.")


def test_work_before_the_installation_still_counts():
    item = only(did("2025-10-01"), installed_on="2025-11-30")
    assert (item.due_on, item.last_done_on) == (date(2026, 1, 1), date(2025, 10, 1))
    assert "installed" not in item.why


@pytest.mark.parametrize(("outcome", "words"), [("recovering", "still recovering"), ("down", "down")])
def test_a_unit_left_unfinished_is_followed_up_the_next_day(outcome, words):
    item = left(outcome)
    assert (item.task, item.due_on, item.basis, item.interval) == ("follow_up", date(2026, 6, 10), "follow_up", None)
    assert item.why == f"The visit on 2026-06-09 left the unit {words}, so a follow-up is due the next day."


@pytest.mark.parametrize(
    ("promised", "due_on", "words"),
    [
        (date(2026, 6, 16), date(2026, 6, 16), "which are promised for 2026-06-16."),
        (None, date(2026, 6, 16), "no day was promised, so it is due after 7 days."),
        (date(2026, 6, 30), date(2026, 6, 30), "which are promised for 2026-06-30."),
    ],
)
def test_a_unit_that_waits_for_parts_is_back_on_the_promised_day_or_after_a_week(promised, due_on, words):
    latest = LatestOutcome("v1", date(2026, 6, 9), "waiting_for_parts", promised)
    (item,) = due(tasks=(FOLLOW_UP,), latest=latest)

    assert (item.task, item.due_on, item.basis) == ("follow_up", due_on, "follow_up")
    assert item.why.startswith("The visit on 2026-06-09 left the unit waiting for parts")
    assert item.why.endswith(words)


@pytest.mark.parametrize("outcome", ["running", None])
def test_any_other_outcome_needs_no_follow_up(outcome):
    assert due(tasks=(FOLLOW_UP,), latest=LatestOutcome("v1", date(2026, 6, 9), outcome)) == ()


def test_a_unit_never_attended_needs_no_follow_up():
    assert due(tasks=(FOLLOW_UP,)) == ()


def test_a_follow_up_names_the_last_one():
    latest = LatestOutcome("v2", date(2026, 6, 10), "down")
    item = only(did("2026-06-10", code="follow_up"), tasks=(FOLLOW_UP,), latest=latest)
    assert (item.due_on, item.last_done_on) == (date(2026, 6, 11), date(2026, 6, 10))


def test_a_follow_up_on_a_closed_day_waits_for_the_first_open_day():
    latest = LatestOutcome("v1", date(2026, 6, 6), "down")  # a Saturday
    item = only(tasks=(FOLLOW_UP,), latest=latest, closed={SUNDAY, MONDAY})
    assert item.due_on == date(2026, 6, 9)
    assert item.why.endswith(
        "The site is closed on Sundays, so it is due on Tuesday 2026-06-09, the first open day after."
    )


def away(first, last, of="unit"):
    """Days out of service in 2026, known since the year began."""
    return Span(date.fromisoformat(first), last and date.fromisoformat(last), date(2026, 1, 1), of)


@pytest.mark.parametrize(
    ("spans", "closed", "due_on", "words"),
    [
        ([away("2026-06-02", "2026-06-02")], (), date(2026, 6, 3), "of service from 2026-06-02 until 2026-06-02, so it "
         "is due on 2026-06-03, the day of return."),
        ([away("2026-05-01", "2026-06-14")], {MONDAY}, date(2026, 6, 16), "until 2026-06-14, so it is due on "
         "2026-06-16, the first open day after."),
        ([away("2026-06-02", "2026-06-05", "site"), away("2026-06-06", "2026-06-09")], (), date(2026, 6, 10), "The "
         "site is closed from 2026-06-02 until 2026-06-05, so it is due on 2026-06-10, the first open day after."),
        ([away("2026-06-03", None)], (), date(2026, 6, 2), "interval 3 months."),  # it fell due before
        ([away("2026-05-30", "2026-06-01")], {TUESDAY}, date(2026, 6, 3), "The site is closed on Tuesdays, so it is "
         "due on Wednesday 2026-06-03, the first open day after."),  # not back into the pause
        ([away("2026-06-03", "2026-06-09"), away("2026-06-01", "2026-06-01")], {TUESDAY}, date(2026, 6, 10),
         "Wednesday 2026-06-10, the first open day after."),
    ],
)  # fmt: skip
def test_what_would_fall_due_out_of_service_is_due_on_the_day_of_return(spans, closed, due_on, words):
    """Work of 2 March is due on Tuesday, 2 June, if nothing is in its way."""
    item = only(did("2026-03-02"), care={"away": tuple(spans)}, closed=closed)
    assert item.due_on == due_on
    assert item.why.endswith(words)


def test_in_a_pause_without_an_end_nothing_falls_due():
    assert due(did("2026-03-02"), care={"away": (away("2026-06-02", None),)}) == ()


def test_an_item_names_the_days_on_which_it_is_not_listed():
    assert only(did("2026-03-02"), care={"away": (away("2026-07-01", "2026-07-05"),)}).away == "2026-07-01/2026-07-05"
    assert only(did("2026-03-02"), care={"out_from": date(2026, 7, 1)}).away == "2026-07-01/"
    assert only(did("2026-03-02")).away is None


@pytest.mark.parametrize(("out_from", "listed"), [("2026-06-02", False), ("2026-06-03", True)])
def test_nothing_falls_due_from_the_end_of_our_care_on(out_from, listed):
    assert len(due(did("2026-03-02"), care={"out_from": date.fromisoformat(out_from)})) == listed


def test_what_is_due_on_the_first_day_of_our_care_anyway_does_not_mention_it():
    item = only(installed_on="2025-10-05")  # and three months
    assert item.due_on == REGISTERED
    assert "registered" not in item.why


def test_a_closed_day_moves_the_due_date_to_the_last_open_day_before():
    item = only(did("2026-03-08"), closed={SUNDAY, MONDAY})  # 2026-06-08 is a Monday
    assert item.due_on == date(2026, 6, 6)
    assert item.why.endswith(
        "The site is closed on Mondays, so it is due on Saturday 2026-06-06, the last open day before."
    )


def test_a_first_visit_moves_off_a_closed_day_too():
    assert only(installed_on="2026-03-08", closed={MONDAY}).due_on == date(2026, 6, 7)


def test_a_closed_day_never_brings_work_back_to_the_day_it_was_done():
    item = only(did("2026-06-07"), tasks=(task(interval=Interval(1, "day")),), closed={MONDAY})  # done on a Sunday
    assert item.due_on == date(2026, 6, 9)
    assert "the first open day after" in item.why


def test_a_unit_registered_on_a_closed_day_is_due_on_the_first_open_day():
    assert only(closed={MONDAY}).due_on == date(2026, 1, 6)  # 2026-01-05 was a Monday


def test_a_site_closed_every_day_keeps_the_date_and_says_so():
    item = only(did("2026-03-08"), closed=EVERY_DAY)
    assert item.due_on == date(2026, 6, 8)
    assert item.why.endswith("closed on every weekday, so the date stands.")


def test_an_open_day_does_not_mention_closing():
    assert "closed" not in only(did("2026-03-09"), closed={SUNDAY, MONDAY}).why


def test_a_task_that_does_not_apply_yields_nothing():
    off = task(applies=False)
    latest = LatestOutcome("v1", date(2026, 6, 9), "down")
    assert (
        due(
            did("2026-03-02"),
            tasks=(off, task("follow_up", None, shortest=None, longest=None, applies=False)),
            latest=latest,
        )
        == ()
    )


def test_work_recorded_for_another_task_does_not_count():
    assert only(did("2026-03-02", code="pump_check")).basis == "first_visit"


def test_a_visit_posted_late_takes_its_place_in_the_run_of_grades():
    facts = {"installed_on": "2025-10-02"}
    first, late, last = did("2026-01-02", "clean"), did("2026-03-12", "heavy"), did("2026-04-02", "clean")
    assert only(first, last, **facts).interval == "114 days"
    assert only(first, last, late, **facts).interval == "68 days"  # heavy between them ends the run: 91 x 0.75


def test_the_same_grade_recorded_twice_on_one_day_is_one_grade():
    facts = {"installed_on": "2025-12-01"}
    assert only(did("2026-03-02", "clean"), did("2026-03-02", "clean"), **facts).interval == "3 months"
    assert only(did("2026-03-02", "heavy"), did("2026-03-02", "heavy"), **facts).interval == "68 days"


@pytest.mark.parametrize("grades", [("heavy", "clean"), ("clean", "heavy"), ("heavy", None), (None, "heavy")])
def test_the_worst_grade_of_a_day_counts(grades):
    item = only(*(did("2026-03-02", grade) for grade in grades), installed_on="2025-12-01")
    assert (item.interval, ", heavily fouled after 91 days" in item.why) == ("68 days", True)


@pytest.mark.parametrize("results", [("done", "not_needed"), ("not_needed", "done")])
def test_done_outranks_not_needed_on_one_day(results):
    assert ": done on" in only(*(did("2026-03-02", None, result) for result in results)).why


def test_items_come_by_date_and_then_by_task():
    tasks = [task(code) for code in ("trunk_check", "pump_check")] + [task("bath_level_check", Interval(4, "month"))]
    items = due(*(did("2026-03-02", code=one.code) for one in tasks), tasks=tasks)
    assert [item.task for item in items] == ["pump_check", "trunk_check", "bath_level_check"]


def test_a_due_date_beyond_the_calendar_is_refused():
    with pytest.raises(ValueError, match="out of range"):
        due(did("9999-12-31"))


def test_a_unit_fresh_from_the_catalogue_owes_every_task_but_the_follow_up():
    items = due(tasks=CATALOGUE)
    assert {item.task for item in items} == {one.code for one in CATALOGUE} - {"follow_up"}


DAYS = st.dates(date(2020, 1, 1), date(2027, 12, 31))
PERFORMED = st.builds(
    Performed,
    st.sampled_from([one.code for one in CATALOGUE]),
    DAYS,
    st.sampled_from(RESULTS),
    st.sampled_from([None, *AS_FOUND]),
    st.sampled_from([None, "no access", "no parts"]),
    by=st.sampled_from(["us", "others"]),
    reported=st.none(),
)
FACTS = st.fixed_dictionaries(
    {
        "performed": st.lists(PERFORMED, max_size=40),
        "installed_on": st.none() | DAYS,
        "registered_on": DAYS,
        "surroundings": st.sampled_from([None, "clean", "dusty", "greasy", "outdoor"]),
        "closed_weekdays": st.frozensets(st.integers(0, 6)),
        "latest": st.none() | st.builds(LatestOutcome, st.just("v1"), DAYS, st.sampled_from([None, "running", "down"])),
    }
)


@given(FACTS, st.randoms(use_true_random=False))
def test_the_order_of_arrival_changes_nothing(facts, shuffler):
    shuffled = shuffler.sample(facts["performed"], len(facts["performed"]))
    assert due_items(tasks=CATALOGUE, **facts) == due_items(tasks=CATALOGUE, **{**facts, "performed": shuffled})


@given(FACTS)
def test_nothing_is_due_on_a_closed_weekday_while_any_is_open(facts):
    closed = facts["closed_weekdays"]
    for item in due_items(tasks=CATALOGUE, **facts):
        assert closed == EVERY_DAY or item.due_on.weekday() not in closed


@given(FACTS)
def test_nothing_is_due_before_the_day_after_it_was_done(facts):
    for item in due_items(tasks=CATALOGUE, **facts):
        if item.basis in ("interval", "condition"):
            assert item.due_on > item.last_done_on


@given(FACTS)
def test_an_open_site_sees_every_task_within_its_range(facts):
    ranges = {one.code: (one.shortest, one.longest) for one in CATALOGUE}
    for item in due_items(tasks=CATALOGUE, **{**facts, "closed_weekdays": frozenset()}):
        if item.basis in ("interval", "condition") and "so it is due from then on" not in item.why:
            shortest, longest = ranges[item.task]
            slack = timedelta(days=3)  # a calendar month against 30.4375 days
            gap = item.due_on - item.last_done_on
            assert timedelta(days=shortest.days) - slack <= gap <= timedelta(days=longest.days) + slack


def test_ten_thousand_visits_in_any_order_give_one_answer():
    codes, start = [one.code for one in CATALOGUE], date(2000, 1, 1)
    visits = [Performed(codes[n % 11], start + timedelta(days=n % 9000), "done", "light", None) for n in range(10_000)]
    in_order = due(*visits, tasks=CATALOGUE)
    random.Random(7).shuffle(visits)
    assert due(*visits, tasks=CATALOGUE) == in_order


def test_a_deep_cleaning_cleans_the_condenser_too() -> None:
    """Common practice, no source: the larger cleaning holds the smaller one."""
    deep = Performed("condenser_deep_clean", date(2026, 3, 2), "done", "light", None)
    items = due_items(
        tasks=[replace(task, rule=STEPPED) for task in CATALOGUE],
        performed=[deep, Performed("condenser_clean", date(2026, 1, 5), "done", "light", None)],
        installed_on=date(2023, 5, 2),
        registered_on=date(2023, 5, 2),
        surroundings=None,
        closed_weekdays=frozenset(),
        latest=None,
    )

    assert {item.task: item.due_on for item in items}["condenser_clean"] == date(2026, 6, 2)


def test_a_deep_cleaning_not_done_does_not_count_for_the_cleaning() -> None:
    items = due_items(
        tasks=CATALOGUE,
        performed=[Performed("condenser_deep_clean", date(2026, 3, 2), "not_done", None, "no water on the roof")],
        installed_on=date(2026, 1, 15),
        registered_on=date(2026, 1, 15),
        surroundings=None,
        closed_weekdays=frozenset(),
        latest=None,
    )

    assert {item.task: item.due_on for item in items}["condenser_clean"] == date(2026, 4, 15)


def test_a_follow_up_made_on_a_later_day_is_due_no_more() -> None:
    made = Performed("follow_up", date(2026, 6, 10), "done", None, None)
    items = due_items(
        tasks=CATALOGUE,
        performed=[made],
        installed_on=date(2026, 6, 1),
        registered_on=date(2026, 6, 1),
        surroundings=None,
        closed_weekdays=frozenset(),
        latest=LatestOutcome("v", date(2026, 6, 9), "recovering"),
    )

    assert "follow_up" not in {item.task for item in items}
