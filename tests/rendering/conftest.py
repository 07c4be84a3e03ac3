"""A small PM list to render, and strings that somebody may type."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from service.domain.maintenance.pm_list import DueRow, PmList, Stop
from service.domain.maintenance.tasks import Interval, Task
from service.domain.root_causes.life_cycle import RootCauseCheck

TODAY = date(2026, 6, 9)

HOSTILE = {
    "formula": "=cmd|' /C calc'!A0",
    "at sign": '@SUM(1+1)*"x"',
    "full-width formula": " \uff1d1+1",
    "quotes": 'the "Old" O\'Brien, & Sons; <b>',
    "script": "</td><script>alert('x')</script><img src=x onerror=alert(1)>",
    "template": "{{ 7 * 7 }}{% raw %}",
    "emoji": "\U0001f37a ice \U0001f469\u200d\U0001f527 caf\u00e9 cafe\u0301",
    "right to left": "\u05de\u05e8\u05ea\u05e3 \u0627\u0644\u0642\u0628\u0648 12",
    "east asian": "\u5730\u4e0b\u5ba4\u306e\u51b7\u5374\u88c5\u7f6e",
    "line breaks": "first\nsecond\r\nthird\rfourth",
    "injected property": "x\r\nATTENDEE:mailto:mallory@example.org\r\nX-Y:z",
    "terminal escape": "\x1b[2J\x1b]0;title\x07gone",
    "override": "abc\u202etxt.exe\u2066",
    "separators": "a,b;c\td\u2028e\x85f",
    "long": "x" * 2000,
    "long words": "Frostschutzmittel " * 110,
}


def a_task(**changes: Any) -> Task:
    fields = {
        "code": "condenser_clean",
        "name": "Condenser clean",
        "interval": Interval(3, "month"),
        "shortest": Interval(1, "month"),
        "longest": Interval(6, "month"),
        "minutes": 30,
        "bring": ("soft brush", "vacuum"),
        "cautions": ("Isolate the fan.", "Wear gloves."),
        "source": "invented for this test",
    }
    return Task(**(fields | changes))


def a_row(**changes: Any) -> DueRow:
    fields = {
        "due_on": "2026-05-28",
        "task": "condenser_clean",
        "basis": "interval",
        "why": "Every 3 months; last done on 2026-02-28.",
        "interval": "3 months",
        "last_done_on": "2026-02-28",
        "unit": "GU-0007",
        "place": "above the walk-in",
        "maker": "Northmere",
        "model": "B-75",
        "site": "lantern-quay",
        "site_name": "Lantern Room, Quay",
        "address": "12 Quay Street",
        "access": "Ring twice.",
        "time_zone": "America/Denver",
        "latitude": 39.74,
        "longitude": -104.99,
        "customer": "lantern",
        "customer_name": "The Lantern Room",
        "phone": "303 555 0134",
        "technician": "rhea",
        "site_id": 1,
        "unit_id": 7,
    }
    return DueRow(**(fields | changes))


def a_list(*stops: tuple[DueRow, ...], tasks: tuple[Task, ...] = (), **changes: Any) -> PmList:
    catalogue = {(task.code, ""): task for task in (a_task(), *tasks)}
    fields = {"horizon_days": 7, "stops": tuple(Stop(TODAY, rows) for rows in stops), "tasks": catalogue}
    return PmList(**(fields | changes))


@pytest.fixture
def task() -> Callable[..., Task]:
    return a_task


@pytest.fixture
def row() -> Callable[..., DueRow]:
    return a_row


@pytest.fixture
def listed() -> Callable[..., PmList]:
    return a_list


@pytest.fixture
def day() -> PmList:
    """Two stops: three items 12 days overdue, due today and due in five days; and one due today."""
    pump = a_task(
        code="pump_check", name="Pump check", minutes=20, bring=("ammeter", "vacuum"), cautions=("Wear gloves.",)
    )
    quay = (
        a_row(),
        a_row(task="pump_check", due_on="2026-06-09", last_done_on=None, basis="first_visit", why="Never visited."),
        a_row(unit="GU-0008", due_on="2026-06-14", place=None),
    )
    ferry = a_row(
        site="ferry", site_name="Old Ferry House", unit="GU-0011", due_on="2026-06-09", technician=None, phone=None
    )
    unlocated = ferry._replace(latitude=None, longitude=None, address=None, access=None, customer_name="Ferry Ltd")
    return a_list(quay, (unlocated,), tasks=(pump,))


@pytest.fixture
def failing(day: PmList) -> PmList:
    """The same list where a switch of GU-0007, which has two items on it, keeps failing."""
    root_cause = RootCauseCheck(
        3, "GU-0007", "power_switch", "probable", "open", "condenser_fouled", "Read the amps.", ("brush", "clamp meter")
    )
    elsewhere = replace(root_cause, unit="GU-0099")
    return replace(day, root_causes={"GU-0007": (root_cause,), "GU-0099": (elsewhere,)})


@pytest.fixture(params=HOSTILE.values(), ids=HOSTILE)
def hostile(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture
def hostile_list(hostile: str) -> PmList:
    """The same string wherever a person can type one."""
    typed = (
        "why",
        "unit",
        "place",
        "maker",
        "model",
        "site_name",
        "address",
        "access",
        "customer_name",
        "phone",
        "technician",
    )
    rows = (a_row(**dict.fromkeys(typed, hostile)),)
    root_cause = RootCauseCheck(1, hostile, "pump", "probable", "open", "bath_low", hostile, (hostile,))
    tasks = (a_task(name=hostile, bring=(hostile,), cautions=(hostile,)),)
    return a_list(rows, tasks=tasks, root_causes={hostile: (root_cause,)})
