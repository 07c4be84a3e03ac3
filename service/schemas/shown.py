"""Records as JSON answers: quantities in the caller's units with the entered text beside them.

A record has every field, null where nothing is known; its parts have what was given.
"""

from collections.abc import Sequence
from dataclasses import fields, replace
from datetime import date
from functools import partial
from typing import Any

from service.domain.instants import at_site
from service.domain.maintenance.due import DueItem
from service.domain.maintenance.pm_list import SOON_DAYS, status
from service.domain.maintenance.settings import SPANS, Setting
from service.domain.maintenance.tasks import Task
from service.domain.plain import as_entered, to_plain
from service.domain.quantities import show_quantity
from service.domain.record.attendances import Attendance
from service.domain.record.calls import Call
from service.domain.record.former import former_visit
from service.domain.record.history import TimelineEvent
from service.domain.record.visits import Correction, Visit

PARTS = ("readings", "tasks", "replacements", "observations", "components", "trunks", "time_zone", "shared_by")
NOT_OF_A_TEXT = ("site", "customer", "time_zone", "shared_by")  # follow from where the unit stood


def shown(record: Any, system: str = "si") -> dict[str, Any]:
    """A record as a JSON object; `system` is "si" or "us"."""
    document: dict[str, Any] = to_plain(record, partial(show_quantity, system=system))
    return dict.fromkeys(field.name for field in fields(record)) | document


def shown_visit(visit: Visit, system: str) -> dict[str, Any]:
    """A visit, its instants by the site's clock."""
    document = shown(visit, system)
    del document["time_zone"], document["shared_by"]
    return document


def shown_call(call: Call) -> dict[str, Any]:
    """A call, its instants by the site's clock."""
    document = shown(call)
    del document["time_zone"]
    return document


def shown_attendance(attendance: Attendance) -> dict[str, Any]:
    """An attendance, its instants by the site's clock."""
    document = shown(attendance)
    del document["time_zone"]
    return document


def shown_corrections(visit: Visit, corrections: Sequence[Correction]) -> list[dict[str, Any]]:
    """Corrections, each with the former text as it was entered, at the unit of that time, by the clock of the site."""
    found = []
    unit = visit.unit
    for made in reversed(corrections):
        unit = made.from_unit or unit
        former = replace(former_visit(visit, made), unit=unit)
        text = {name: part for name, part in as_entered(former).items() if name not in NOT_OF_A_TEXT}
        about = {"number": made.number, "at": at_site(made.at, visit.time_zone), "by": made.by, "why": made.why}
        found.append({**about, "from_unit": made.from_unit, "former": text})
    return found[::-1]


def shown_event(found: TimelineEvent, system: str, zone: str) -> dict[str, Any]:
    """An event of a unit's timeline without its record's parts; by the clock where it happened, else that of `zone`."""
    zone = found.time_zone or zone
    record = to_plain(found.record, partial(show_quantity, system=system), zone)
    return {
        "event": found.event,
        "at": at_site(found.at, zone),
        "visit": None if found.visit is None else found.visit.id,
        "void": found.void,
        "remark": found.remark,
        "recorded": {name: part for name, part in record.items() if name not in PARTS},
    }


def shown_due(tag: str, item: DueItem, today: date, horizon_days: int = SOON_DAYS) -> dict[str, Any]:
    """A due item, and how it stands on the site's own date."""
    overdue = today.toordinal() - item.due_on.toordinal()
    return {
        "unit": tag,
        "task": item.task,
        "due_on": item.due_on.isoformat(),
        "days_overdue": overdue,
        "status": status(overdue, horizon_days),
        "basis": item.basis,
        "why": item.why,
        "interval": item.interval,
        "last_done_on": None if item.last_done_on is None else item.last_done_on.isoformat(),
    }


def shown_task(task: Task, setting: Setting | None) -> dict[str, Any]:
    """A task as it applies, and which of its fields were set by the shop."""
    edited = setting or Setting(task.code)
    return {
        "code": task.code,
        "name": task.name,
        **{name: None if getattr(task, name) is None else str(getattr(task, name)) for name in SPANS},
        "minutes": task.minutes,
        "bring": list(task.bring),
        "skills": list(task.skills),
        "applies": task.applies,
        "rule": task.rule,
        "heavy_chance": task.heavy_chance,
        "figure": task.figure,
        "note": edited.changes.get("note"),
        "cautions": list(task.cautions),
        "source": task.source,
        "adapts": task.adapts,
        "surroundings": dict(task.surroundings),
        "edited": sorted(edited.changes),
        "version": edited.version,
    }
