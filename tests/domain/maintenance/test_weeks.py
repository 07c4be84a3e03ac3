"""Levelling of the weeks ahead, counted by hand."""

from datetime import date, timedelta

from service.domain.maintenance.weeks import Planned, level, minutes_available, weeks_of
from service.domain.record.fleet import Leave, Technician

MONDAY = date(2026, 6, 15)
SPANS = weeks_of(MONDAY, MONDAY + timedelta(days=27))


def work(site: str, day: int, minutes: int = 60, *, wait: int = 0, who: str | None = "rhea", **more) -> Planned:
    due_on = MONDAY + timedelta(days=day)
    limit = due_on + timedelta(days=wait)
    return Planned(technician=who, site=site, unit=f"U-{site}", task="t", minutes=minutes, due_on=due_on, limit=limit,
                   **more)  # fmt: skip


def planned(weeks):
    return [sum(load.planned for load in week.loads) for week in weeks]


def test_what_is_too_much_for_a_week_is_done_in_the_one_before() -> None:
    weeks, moved = level([work("a", 8), work("b", 9), work("c", 10)], SPANS, {"rhea": [120, 120, 120, 120]})

    assert planned(weeks) == [60, 120, 0, 0]
    assert [(each.work.site, each.to_week) for each in moved] == [("c", MONDAY)]
    assert [week.overload for week in weeks] == [0, 0, 0, 0]


def test_where_no_earlier_week_has_room_it_waits_within_its_limit() -> None:
    works = [work("a", 1, 120), work("b", 2, wait=7), work("c", 3, wait=30)]
    weeks, moved = level(works, SPANS, {"rhea": [120, 60, 60, 60]})

    assert planned(weeks) == [120, 60, 60, 0]
    assert [each.to_week - MONDAY for each in moved] == [timedelta(days=7), timedelta(days=14)]


def test_recurring_work_is_not_moved_into_the_week_in_which_it_is_done_before() -> None:
    works = [work("a", 1), work("a", 15, after=MONDAY + timedelta(days=1)), work("b", 16, 120)]
    weeks, moved = level(works, SPANS, {"rhea": [180, 0, 120, 0]})

    assert [(each.work.site, each.to_week) for each in moved] == [("b", MONDAY)]
    assert planned(weeks) == [180, 0, 60, 0]
    weeks, moved = level(works, SPANS, {"rhea": [180, 0, 0, 0]})
    assert ([each.work.site for each in moved], weeks[2].overload) == (["b"], 60)


def test_what_fits_nowhere_overloads_its_week() -> None:
    weeks, moved = level([work("a", 8, 200)], SPANS, {"rhea": [60, 60, 60, 60]})

    assert ([week.overload for week in weeks], moved) == ([0, 140, 0, 0], [])


def test_a_sites_work_of_a_week_is_moved_as_one_and_what_is_fixed_stays() -> None:
    works = [work("a", 8), work("a", 9), work("b", 8, fixed=True), work("c", 9, fixed=True)]
    weeks, moved = level(works, SPANS, {"rhea": [120, 120, 120, 120]})

    assert planned(weeks) == [120, 120, 0, 0]
    assert {each.work.site for each in moved} == {"a"}


def test_work_of_nobody_goes_into_the_hours_that_are_left() -> None:
    weeks, _ = level([work("a", 1, 100), work("b", 1, 50, who=None)], SPANS, {"rhea": [120, 0, 0, 0]})

    assert [(load.technician, load.available, load.overload) for load in weeks[0].loads] == [
        ("rhea", 120, 0),
        (None, 20, 30),
    ]


def test_what_cannot_wait_for_who_is_away_all_week_is_nobodys() -> None:
    works = [work("a", 1), work("b", 1, wait=7), work("c", 2, fixed=True), work("d", 1, 30, who="tobin")]
    weeks, moved = level(works, SPANS, {"rhea": [0, 60, 60, 60], "tobin": [120, 120, 120, 120]})

    assert [(load.technician, load.available, load.due, load.planned) for load in weeks[0].loads] == [
        ("rhea", 0, 60, 0),
        ("tobin", 120, 30, 30),
        (None, 90, 120, 120),
    ]
    assert [(each.work.site, each.to_week - MONDAY) for each in moved] == [("b", timedelta(days=7))]
    assert [week.overload for week in weeks] == [30, 0, 0, 0]


def test_leave_and_weekends_are_no_working_time() -> None:
    leave = Leave(from_=MONDAY, until=MONDAY + timedelta(days=1))
    who = Technician(code="rhea", name="Rhea", leave=(leave,), left_on=MONDAY + timedelta(days=4))

    assert minutes_available(who, 6.0, MONDAY, MONDAY + timedelta(days=6)) == 2 * 360
