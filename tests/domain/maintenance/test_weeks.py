"""Levelling of the weeks ahead, counted by hand."""

from datetime import date, timedelta

from service.domain.maintenance.list_order import CLASSES
from service.domain.maintenance.weeks import Planned, level, minutes_available, weeks_of
from service.domain.record.fleet import Leave, Technician

MONDAY = date(2026, 6, 15)
SPANS = weeks_of(MONDAY, MONDAY + timedelta(days=27))


def work(
    site: str, day: int, minutes: int = 60, *, wait: int = 0, who: str | None = "rhea", unit: str = "", **more
) -> Planned:
    due_on = MONDAY + timedelta(days=day)
    limit = due_on + timedelta(days=wait)
    return Planned(technician=who, site=site, unit=unit or f"U-{site}", task="t", minutes=minutes, due_on=due_on,
                   limit=limit, **more)  # fmt: skip


def overdue(unit: str, minutes: int, days: int, *, on: int = 0, site: str = "a", wait: int = 30) -> Planned:
    key = (CLASSES.index("pm"), 1.0, -days / 90, "")
    return work(site, on, minutes, wait=wait, unit=unit, overdue=key)


def moves(moved):
    return [(each.work.unit, (each.to_week - MONDAY).days) for each in moved]


def planned(weeks):
    return [sum(load.planned for load in week.loads) for week in weeks]


def test_what_is_too_much_for_a_week_is_done_in_the_one_before() -> None:
    weeks, moved = level([work("a", 8), work("b", 9), work("c", 10)], SPANS, {"rhea": [120, 120, 120, 120]})

    assert planned(weeks) == [60, 120, 0, 0]
    assert [(each.work.site, each.from_week, each.to_week) for each in moved] == [("c", MONDAY + timedelta(7), MONDAY)]
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


def test_work_is_done_as_early_as_the_week_behind_the_one_before_and_not_behind_the_plan() -> None:
    _, moved = level([work("a", 15, after=MONDAY + timedelta(days=1))], SPANS, {"rhea": [180, 60, 0, 0]})
    assert moves(moved) == [("U-a", 7)]

    weeks, moved = level([work("a", 22, 100, wait=60)], SPANS, {"rhea": [0, 0, 0, 60]})
    assert ([week.overload for week in weeks], moved) == ([0, 0, 0, 40], [])


def test_work_at_a_unit_waits_for_what_of_it_was_done_last() -> None:
    works = [work("a", 15, after=MONDAY + timedelta(days=1)), work("a", 15)]
    weeks, moved = level(works, SPANS, {"rhea": [180, 0, 60, 0]})

    assert ([week.overload for week in weeks], moved) == ([0, 0, 60, 0], [])


def test_who_is_not_known_has_no_hours() -> None:
    weeks, _ = level([work("a", 8, fixed=True, who="gone")], SPANS, {"rhea": [60, 60, 60, 60]})

    assert [(load.technician, load.available, load.due, load.planned) for load in weeks[1].loads] == [
        ("rhea", 60, 0, 0),
        ("gone", 0, 0, 0),
        (None, 60, 60, 60),
    ]


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


def test_free_hours_of_a_friday_are_used_before_a_sites_work_is_pushed_on() -> None:
    friday = weeks_of(MONDAY + timedelta(days=4), MONDAY + timedelta(days=13))
    works = [
        overdue("U-1", 108, 3, on=4), overdue("U-2", 156, 5, on=4), overdue("U-3", 216, 8, on=4),
        overdue("U-4", 96, 20, on=4), work("b", 4, 870, who="tobin"),
    ]  # fmt: skip
    weeks, moved = level(works, friday, {"rhea": [420, 2100], "tobin": [420, 2100]})

    # 9.6 h against 7 h, longest overdue first: 96 + 216, 156 is too much, 108 makes it full.
    assert moves(moved) == [("U-2", 7)]
    assert [(load.technician, load.planned, load.overload) for load in weeks[0].loads] == [
        ("rhea", 420, 0),
        ("tobin", 870, 450),
    ]
    assert planned(weeks[1:]) == [156]


def test_the_work_at_a_unit_stays_together() -> None:
    works = [overdue("U-1", 60, 9), overdue("U-1", 60, 1), overdue("U-2", 60, 2)]
    _, moved = level(works, SPANS, {"rhea": [100, 120, 0, 0]})

    assert moves(moved) == [("U-1", 7), ("U-1", 7)]


def test_what_may_not_wait_comes_first_then_what_is_longest_overdue_then_what_may_wait_least() -> None:
    units = [work("a", 0, wait=14, unit="U-1"), work("a", 0, wait=7, unit="U-2")]
    units += [overdue("U-3", 60, 5), overdue("U-4", 60, 9), work("a", 0, unit="U-5")]
    _, moved = level(units, SPANS, {"rhea": [120, 120, 60, 0]})
    assert moves(moved) == [("U-3", 7), ("U-2", 7), ("U-1", 14)]

    sites = [work("a", 0, wait=7), overdue("U-b", 60, 5, site="b")]
    _, moved = level(sites, SPANS, {"rhea": [60, 60, 60, 60]})
    assert moves(moved) == [("U-a", 7)]


def test_a_sites_work_that_fits_into_an_earlier_week_is_not_split() -> None:
    works = [work("a", 7, wait=9, unit="U-1"), work("a", 7, wait=9, unit="U-2")]
    _, moved = level(works, SPANS, {"rhea": [120, 60, 60, 60]})

    assert moves(moved) == [("U-1", 0), ("U-2", 0)]


def test_only_what_finds_no_room_overloads_its_week() -> None:
    works = [work("a", 8, 100, unit="U-1"), work("a", 8, 100, unit="U-2"), work("a", 8, 100, wait=7, unit="U-3")]
    weeks, moved = level(works, SPANS, {"rhea": [0, 150, 100, 60]})

    assert moves(moved) == [("U-3", 14)]
    assert [week.overload for week in weeks] == [0, 50, 0, 0]


def test_a_site_at_which_something_cannot_wait_for_who_is_away_is_handed_over_whole() -> None:
    works = [work("a", 1, unit="U-1"), work("a", 1, wait=7, unit="U-2")]
    weeks, moved = level(works, SPANS, {"rhea": [0, 60, 60, 60], "tobin": [120, 0, 0, 0]})

    assert (moved, [(load.technician, load.planned) for load in weeks[0].loads]) == (
        [],
        [("rhea", 0), ("tobin", 0), (None, 120)],
    )


def test_what_can_wait_is_split_among_the_weeks_after_one_without_hours() -> None:
    works = [overdue("U-1", 60, 9), overdue("U-2", 60, 5), overdue("U-3", 60, 1)]
    weeks, moved = level(works, SPANS, {"rhea": [0, 60, 120, 0]})

    assert moves(moved) == [("U-1", 7), ("U-2", 14), ("U-3", 14)]
    assert planned(weeks) == [0, 60, 120, 0]


def test_the_order_in_which_work_is_named_changes_nothing() -> None:
    works = [overdue(f"U-{n}", 60, 4, site=f"s{n % 2}") for n in range(6)]
    plans = [level(each, SPANS, {"rhea": [120, 90, 200, 0]}) for each in (works, works[::-1], works[3:] + works[:3])]

    assert moves(plans[0][1]) == [("U-4", 7), ("U-1", 14), ("U-3", 14), ("U-5", 14)]
    assert plans[0] == plans[1] == plans[2]


def test_leave_and_weekends_are_no_working_time() -> None:
    leave = Leave(from_=MONDAY, until=MONDAY + timedelta(days=1))
    who = Technician(code="rhea", name="Rhea", leave=(leave,), left_on=MONDAY + timedelta(days=4))

    assert minutes_available(who, 6.0, MONDAY, MONDAY + timedelta(days=6)) == 2 * 360
    assert minutes_available(Technician(code="sol", name="Sol"), 6.0, MONDAY, MONDAY + timedelta(days=4)) == 5 * 360
    assert minutes_available(Technician(code="sol", name="Sol"), 6.0, MONDAY, MONDAY + timedelta(days=6)) == 5 * 360
