"""The PM list as JSON: the shape that `GET /v1/pm-list` answers with."""

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import orjson

from service.domain.instants import at_site
from service.domain.maintenance.list_order import ordinal
from service.domain.maintenance.pm_list import Driver, DueRow, LeftOver, PmList, Stop, size_of, status
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
            "stops": [
                orjson.Fragment(orjson.dumps(_stop(pm_list, stop, [parts_of(row) for row in stop.rows])))
                for stop in pm_list.stops  # each by itself, so that no more than the items of one are held
            ],
            "next": pm_list.next,
            "day": _day(pm_list),
        }
    )


def _task_parts(pm_list: PmList) -> Callable[[DueRow], _TaskParts]:
    known: dict[tuple[str, str | None], _TaskParts] = {}

    def parts_of(row: DueRow) -> _TaskParts:
        key = row.task, row.own and row.unit  # a unit without settings of its own has the task of all
        found = known.get(key)
        if found is None:
            task = pm_list.task(row)
            bring, cautions = (orjson.Fragment(orjson.dumps(texts)) for texts in (task.bring, task.cautions))
            found = known[key] = _TaskParts(task.name, task.minutes, bring, cautions)
        return found

    return parts_of


def _stop(pm_list: PmList, stop: Stop, tasks: Sequence[_TaskParts]) -> dict[str, object]:
    site = stop.site
    today, forward = stop.today.toordinal(), stop.forward
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
        "arrives_at": stop.times and at_site(stop.times.arrives_at, site.time_zone),
        "leaves_at": stop.times and at_site(stop.times.leaves_at, site.time_zone),
        "travel_minutes": stop.times and stop.times.travel_minutes,
        "minutes": sum(task.minutes for task in tasks),
        "items": [
            _item(row, task, today - ordinal(row.due_on), pm_list.horizon_days, forward)
            for row, task in zip(stop.rows, tasks, strict=True)
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


def _day(pm_list: PmList) -> dict[str, object] | None:
    day = pm_list.day
    if day is None:
        return None
    return {
        "technicians": [_driver(each) for each in day.drivers],
        "left_over": [_left_over(pm_list, each) for each in day.left_over],
        "notes": day.notes,
    }


def _driver(driver: Driver) -> dict[str, object]:
    return {
        "technician": driver.technician,
        "starts_at": at_site(driver.starts_at, driver.time_zone),
        "ends_at": at_site(driver.ends_at, driver.time_zone),
        "work_minutes": driver.work_minutes,
        "travel_minutes": driver.travel_minutes,
        "done": driver.done,
    }


def _left_over(pm_list: PmList, left: LeftOver) -> dict[str, object]:
    row = left.row
    return {
        "class": row.work,
        "site": row.site or None,
        "unit": row.unit or None,
        "task": row.task,
        "call": row.call,
        "technician": row.technician,
        "due_on": row.due_on,
        "minutes": pm_list.task(row).minutes,
        "reason": left.reason,
        "risk": left.risk,
    }


def _item(
    row: DueRow, task: _TaskParts, overdue: int, horizon_days: int, forward: Mapping[tuple[str, str], str]
) -> dict[str, object]:
    # Taken apart at once: of a long list, asking for each by its name takes as long as the rest of this function.
    due_on, code, basis, why, interval, last_done_on, unit, place, maker, model = row[:10]
    name, minutes, bring, cautions = task
    return {
        "class": row.work,
        "call": row.call,
        "unit": unit or None,
        "place": place,
        "maker": maker,
        "model": model,
        "task": code,
        "task_name": name,
        "due_on": due_on,
        "days_overdue": overdue,
        "status": status(overdue, horizon_days),
        "basis": basis,
        "why": why,
        "interval": interval,
        "last_done_on": last_done_on,
        "minutes": minutes,
        "bring": bring,
        "cautions": cautions,
        "includes": row.includes,
        "technician": row.technician,
        "assigned_day": row.assigned_day,
        "pulled_forward": forward.get((unit, code)) if forward else None,
    }
