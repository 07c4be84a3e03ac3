"""Pull the day: what is overdue, due today and due soon, stop by stop."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta

import orjson

from service.domain.errors import Fault, Invalid
from service.domain.instants import local_day
from service.domain.maintenance.pm_list import DueRow, PmList, into_stops
from service.domain.maintenance.settings import Setting, changed_task
from service.domain.maintenance.tasks import Task
from service.storage.due import Position
from service.storage.store import Store
from service.usecases.due import fleet_tasks
from service.usecases.root_causes import to_check


def position(row: DueRow) -> Position:
    """Where a row stands in the order of the list."""
    return row.due_on, row.site_id, row.unit_id, row.task


def pull(  # noqa: PLR0913 - what the dispatcher may ask for
    store: Store,
    now: datetime,
    *,
    on: date | None,
    horizon_days: int,
    technician: str | None,
    after: Position | None,
    limit: int,
) -> tuple[PmList, Position | None]:
    """Due items up to a day, each site by its own date unless `on` is given; and behind which position more lie."""
    today_in = {zone: on or local_day(now, zone) for zone in store.sites.zones()}
    if technician is not None and store.technicians.id_of(technician) is None:
        raise Invalid([Fault("technician", technician, f"there is no technician {technician!r}")])
    last = max(today_in.values(), default=on or now.date()) + timedelta(days=horizon_days)
    rows = store.due.until(last.isoformat(), most=limit + 1, after=after, technician_code=technician)
    shown = rows[:limit]
    stops = into_stops(shown, today_in, horizon_days)
    tasks: dict[tuple[str, str], Task] = {(code, ""): task for code, task in fleet_tasks(store).items()}
    pulled = PmList(
        horizon_days,
        stops,
        tasks | _own_tasks(tasks, shown),
        root_causes=to_check(store, sorted({row.unit_id for stop in stops for row in stop.rows})),
    )
    return pulled, (position(shown[-1]) if len(rows) > limit else None)


def _own_tasks(tasks: Mapping[tuple[str, str], Task], rows: list[DueRow]) -> dict[tuple[str, str], Task]:
    return {
        (row.task, row.unit): changed_task(tasks[row.task, ""], Setting(row.task, orjson.loads(row.own)))
        for row in rows
        if row.own is not None
    }
