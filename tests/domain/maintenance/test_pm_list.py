"""The counts of the list, the status of an item, and its task."""

from datetime import date

import pytest

from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.list_order import Entry, into_stops, key_of_item
from service.domain.maintenance.pm_list import Counts, DueRow, PmList, count, days_overdue, minutes, status

BLANK = dict.fromkeys(DueRow._fields)
TODAY = date(2026, 6, 9)
TASKS = {(task.code, ""): task for task in CATALOGUE}


def row(site: str, due_on: str, **changes) -> DueRow:
    return DueRow(**BLANK | {"site": site, "due_on": due_on, "time_zone": "a", "unit": "GU-1"} | changes)


def entry(site: int, unit: int, item: str, due_on: str) -> Entry:
    return Entry(site, unit, item, key_of_item("pm", item, due_on, "90 days", TODAY.toordinal()), due_on, 10, "pm", "a")


def test_the_counts_are_those_of_all_stops() -> None:
    stops = into_stops(
        [
            entry(1, 1, "pump_check", "2026-06-08"),
            entry(1, 1, "trunk_check", "2026-06-09"),
            entry(2, 2, "pump_check", "2026-06-10"),
            entry(2, 2, "trunk_check", "2026-06-11"),
        ],
        lambda *_: ({}, {}),
    )
    found = count(stops, {1: TODAY, 2: TODAY}, 1)

    assert found == Counts(overdue=1, due_today=1, due_soon=1, scheduled=1, stops=2, minutes=40)


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
