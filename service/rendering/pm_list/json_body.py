"""The PM list as JSON: the shape that `GET /v1/pm-list` answers with."""

from collections.abc import Callable, Sequence
from datetime import date
from typing import NamedTuple

import orjson

from service.domain.maintenance.pm_list import DueRow, PmList, Stop, days_overdue, size_of, status
from service.domain.root_causes.life_cycle import RootCauseCheck
from service.rendering.pm_list.wording import root_cause_text


class _TaskParts(NamedTuple):
    """The parts of a task in an item; the lists are serialised once for each task, not for each item."""

    name: str
    minutes: int
    bring: orjson.Fragment
    cautions: orjson.Fragment


def render(pm_list: PmList) -> bytes:
    """Serialise horizon_days, counts, stops with their items, and next (of the following page, or null)."""
    parts_of = _task_parts(pm_list)
    return orjson.dumps(
        {
            "horizon_days": pm_list.horizon_days,
            "counts": size_of(pm_list),
            "stops": [_stop(pm_list, stop, [parts_of(row) for row in stop.rows]) for stop in pm_list.stops],
            "next": pm_list.next,
        }
    )


def _task_parts(pm_list: PmList) -> Callable[[DueRow], _TaskParts]:
    known: dict[
        int, _TaskParts
    ] = {}  # by id: hashing a task would hash all its sentences; the list keeps its tasks alive

    def parts_of(row: DueRow) -> _TaskParts:
        task = pm_list.task(row)
        found = known.get(id(task))
        if found is None:
            bring, cautions = (orjson.Fragment(orjson.dumps(texts)) for texts in (task.bring, task.cautions))
            found = known[id(task)] = _TaskParts(task.name, task.minutes, bring, cautions)
        return found

    return parts_of


def _stop(pm_list: PmList, stop: Stop, tasks: Sequence[_TaskParts]) -> dict[str, object]:
    site = stop.site
    return {
        "class": stop.work,
        "site": site.site or None,
        "site_name": site.site_name,
        "customer": site.customer or None,
        "customer_name": site.customer_name,
        "phone": site.phone,
        "address": site.address,
        "access": site.access,
        "time_zone": site.time_zone,
        "latitude": site.latitude,
        "longitude": site.longitude,
        "technician": site.technician,
        "today": stop.today,
        "minutes": sum(task.minutes for task in tasks),
        "items": [
            _item(row, task, stop.today, pm_list.horizon_days) for row, task in zip(stop.rows, tasks, strict=True)
        ],
        "root_causes": [_root_cause(root_cause) for root_cause in pm_list.root_causes_at(stop)],
    }


def _root_cause(root_cause: RootCauseCheck) -> dict[str, object]:
    return {
        "id": root_cause.id,
        "unit": root_cause.unit,
        "component_kind": root_cause.component_kind,
        "tier": root_cause.tier,
        "state": root_cause.state,
        "cause": root_cause.cause,
        "next_check": root_cause.next_check,
        "bring": root_cause.bring,
        "text": root_cause_text(root_cause),
    }


def _item(row: DueRow, task: _TaskParts, today: date, horizon_days: int) -> dict[str, object]:
    overdue = days_overdue(row, today)
    return {
        "class": row.work,
        "call": row.call,
        "unit": row.unit or None,
        "place": row.place,
        "maker": row.maker,
        "model": row.model,
        "task": row.task,
        "task_name": task.name,
        "due_on": row.due_on,
        "days_overdue": overdue,
        "status": status(overdue, horizon_days),
        "basis": row.basis,
        "why": row.why,
        "interval": row.interval,
        "last_done_on": row.last_done_on,
        "minutes": task.minutes,
        "bring": task.bring,
        "cautions": task.cautions,
        "includes": row.includes,
    }
