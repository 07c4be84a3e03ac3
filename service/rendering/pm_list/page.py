"""The PM list as one HTML page, to print or to read on a phone."""

from collections.abc import Mapping
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, Template

from service.domain.maintenance.pm_list import (
    DueRow,
    PmList,
    Stop,
    days_overdue,
    minutes,
    size_of,
    status,
    with_left_over,
)
from service.rendering.pm_list.wording import (
    CLASS_NAMES,
    assigned_for,
    brought,
    by_unit,
    call_link,
    cautions,
    duration,
    how_late,
    included,
    laid_out,
    machine,
    map_link,
    number,
    numbered_cautions,
    root_cause_text,
    technicians_at,
    times_of,
    weekday_and_date,
    weekdays_and_dates,
)


def render(pm_list: PmList) -> bytes:
    """Fill in `page.html`; it has no scripts and fetches nothing. Its links dial, show a place or lead to a caution."""
    parts = parts_of(with_left_over(pm_list))
    page = _template().render(**parts, company=pm_list.company.lines, duration=duration, number=number)
    return page.encode()


def parts_of(pm_list: PmList) -> dict[str, Any]:
    """What a page shows of a list, in words."""
    numbers = numbered_cautions(pm_list)
    return {
        "days": weekdays_and_dates(pm_list.stops),
        "counts": size_of(pm_list),
        "horizon_days": pm_list.horizon_days,
        "stops": [_stop(pm_list, stop, numbers) for stop in pm_list.stops],
        "laid_out": laid_out(pm_list),
        "bring": brought(pm_list),
        "cautions": numbers,
        "more": pm_list.next is not None,
        "notes": () if pm_list.day is None else pm_list.day.notes,
    }


@cache
def _template() -> Template:
    environment = Environment(
        loader=FileSystemLoader(Path(__file__).parent),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("page.html")


def _stop(pm_list: PmList, stop: Stop, numbers: Mapping[str, int]) -> dict[str, Any]:
    return {
        "site": stop.site,
        "class": CLASS_NAMES[stop.work],
        "today": weekday_and_date(stop.today),
        "times": times_of(stop),
        "minutes": minutes(pm_list, stop.rows),
        "count": len(stop.rows),
        "technicians": technicians_at(pm_list, stop),
        "call": call_link(stop.site.phone),
        "map": map_link(stop.site),
        "cautions": sorted(numbers[caution] for caution in cautions(pm_list, stop)),
        "units": [[_item(pm_list, row, stop) for row in rows] for rows in by_unit(stop.rows)],
        "root_causes": [(root_cause.unit, root_cause_text(root_cause)) for root_cause in pm_list.root_causes_at(stop)],
    }


def _item(pm_list: PmList, row: DueRow, stop: Stop) -> dict[str, Any]:
    overdue = days_overdue(row, stop.today)
    return {
        "row": row,
        "task": pm_list.task(row),
        "about": ", ".join(filter(None, (row.place, machine(row)))),
        "due": weekday_and_date(date.fromisoformat(row.due_on)),
        "late": how_late(overdue),
        "assigned": assigned_for(row, stop.today),
        "status": status(overdue, pm_list.horizon_days),
        "work": "" if row.work == "pm" else CLASS_NAMES[row.work],
        "included": included(pm_list, row),
        "forward": stop.forward.get((row.unit, row.task), ""),
    }
