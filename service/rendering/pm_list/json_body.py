"""The PM list as JSON: the shape that `GET /v1/pm-list` answers with."""

from collections.abc import Callable, Sequence
from datetime import date
from typing import NamedTuple

import orjson

from service.domain.maintenance.pm_list import DueRow, PmList, Stop, days_overdue, status
from service.domain.root_causes.life_cycle import RootCauseCheck
from service.rendering.pm_list.wording import counts, root_cause_text


class _Told(NamedTuple):
    """What a task says wherever it is due; the lists are serialised once a task, not once an item."""

    name: str
    minutes: int
    bring: orjson.Fragment
    cautions: orjson.Fragment


def render(pm_list: PmList) -> bytes:
    """Serialise horizon_days, counts, stops with their items, and next (of the following page, or null)."""
    told = _teller(pm_list)
    return orjson.dumps(
        {
            "horizon_days": pm_list.horizon_days,
            "counts": counts(pm_list),
            "stops": [_stop(pm_list, stop, [told(row) for row in stop.rows]) for stop in pm_list.stops],
            "next": pm_list.next,
        }
    )


def _teller(pm_list: PmList) -> Callable[[DueRow], _Told]:
    known: dict[int, _Told] = {}  # by id: hashing a task would hash all its sentences; the list keeps its tasks alive

    def told(row: DueRow) -> _Told:
        task = pm_list.task(row)
        found = known.get(id(task))
        if found is None:
            bring, cautions = (orjson.Fragment(orjson.dumps(texts)) for texts in (task.bring, task.cautions))
            found = known[id(task)] = _Told(task.name, task.minutes, bring, cautions)
        return found

    return told


def _stop(pm_list: PmList, stop: Stop, told: Sequence[_Told]) -> dict[str, object]:
    site = stop.site
    return {
        "site": site.site,
        "site_name": site.site_name,
        "customer": site.customer,
        "customer_name": site.customer_name,
        "phone": site.phone,
        "address": site.address,
        "access": site.access,
        "time_zone": site.time_zone,
        "latitude": site.latitude,
        "longitude": site.longitude,
        "technician": site.technician,
        "today": stop.today,
        "minutes": sum(task.minutes for task in told),
        "items": [_item(row, task, stop.today) for row, task in zip(stop.rows, told, strict=True)],
        "root_causes": [_root_cause(each) for each in pm_list.root_causes_at(stop)],
    }


def _root_cause(check: RootCauseCheck) -> dict[str, object]:
    return {
        "id": check.id,
        "unit": check.unit,
        "component_kind": check.component_kind,
        "tier": check.tier,
        "state": check.state,
        "cause": check.cause,
        "next_check": check.next_check,
        "bring": check.bring,
        "text": root_cause_text(check),
    }


def _item(row: DueRow, told: _Told, today: date) -> dict[str, object]:
    overdue = days_overdue(row, today)
    return {
        "unit": row.unit,
        "place": row.place,
        "maker": row.maker,
        "model": row.model,
        "task": row.task,
        "task_name": told.name,
        "due_on": row.due_on,
        "days_overdue": overdue,
        "status": status(overdue),
        "basis": row.basis,
        "why": row.why,
        "interval": row.interval,
        "last_done_on": row.last_done_on,
        "minutes": told.minutes,
        "bring": told.bring,
        "cautions": told.cautions,
    }
