"""Due rows gathered into stops."""

from datetime import date

import pytest

from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.pm_list import DueRow, PmList, days_overdue, into_stops, minutes, status

BLANK = dict.fromkeys(DueRow._fields)
TODAY = date(2026, 6, 9)
TASKS = {(task.code, ""): task for task in CATALOGUE}


def row(site: str, due_on: str, **changes) -> DueRow:
    return DueRow(**BLANK | {"site": site, "due_on": due_on, "time_zone": "a", "unit": "GU-1"} | changes)


def test_rows_of_one_site_make_one_stop_in_the_order_in_which_they_fell_due() -> None:
    rows = [row("pier", "2026-06-01"), row("quay", "2026-06-02"), row("pier", "2026-06-03")]
    stops = into_stops(rows, {"a": TODAY}, 0)

    assert [(stop.site.site, [each.due_on[-1] for each in stop.rows]) for stop in stops] == [
        ("pier", ["1", "3"]),
        ("quay", ["2"]),
    ]


@pytest.mark.parametrize(("horizon", "last"), [(0, "2026-06-09"), (1, "2026-06-10"), (30, "2026-07-09")])
def test_what_is_due_within_the_horizon_is_in(horizon: int, last: str) -> None:
    after = date.fromordinal(date.fromisoformat(last).toordinal() + 1).isoformat()

    assert len(into_stops([row("pier", last)], {"a": TODAY}, horizon)) == 1
    assert into_stops([row("pier", after)], {"a": TODAY}, horizon) == ()


def test_each_site_goes_by_the_date_of_its_own_zone() -> None:
    rows = [row("pier", "2026-06-10"), row("bay", "2026-06-10", time_zone="b")]
    (stop,) = into_stops(rows, {"a": TODAY, "b": date(2026, 6, 10)}, 0)

    assert (stop.site.site, stop.today) == ("bay", date(2026, 6, 10))


@pytest.mark.parametrize(
    ("due_on", "overdue", "word"),
    [
        ("2026-06-08", 1, "overdue"),
        ("2026-06-09", 0, "due_today"),
        ("2026-06-10", -1, "due_soon"),
        ("2025-06-09", 365, "overdue"),
        ("2024-02-29", 831, "overdue"),  # by the Julian day numbers 2461201 and 2460370
    ],
)
def test_days_overdue_are_calendar_days(due_on: str, overdue: int, word: str) -> None:
    assert days_overdue(row("pier", due_on), TODAY) == overdue
    assert status(overdue) == word


def test_a_task_of_the_unit_outranks_that_of_the_catalogue() -> None:
    own = TASKS["trunk_check", ""]
    pulled = PmList(0, (), TASKS | {("pump_check", "GU-1"): own})

    assert pulled.task(row("pier", "2026-06-09", task="pump_check")) is own
    assert pulled.task(row("pier", "2026-06-09", task="pump_check", unit="GU-2")) is TASKS["pump_check", ""]


def test_the_minutes_of_some_rows_are_those_of_their_tasks() -> None:
    rows = [row("pier", "2026-06-09", task=task.code) for task in CATALOGUE]

    assert minutes(PmList(0, (), TASKS), rows) == sum(task.minutes for task in CATALOGUE)
