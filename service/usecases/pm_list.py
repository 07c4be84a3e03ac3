"""Pull the day: calls, due items and root causes in the order of what is at stake, stop by stop."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import orjson

from service.domain.errors import Fault, Invalid
from service.domain.instants import local_day
from service.domain.maintenance.list_order import Entry, class_of, into_stops, key_of_item, tied
from service.domain.maintenance.pm_list import OTHER_WORK, DueRow, PmList, Stop, count
from service.domain.maintenance.settings import Setting, changed_task
from service.domain.maintenance.tasks import Task
from service.domain.record.pauses import is_away
from service.storage.store import Store
from service.usecases import past_list, plan
from service.usecases.due import fleet_tasks
from service.usecases.list_items import Item, Sources, call_items, full_rows, once, root_cause_items
from service.usecases.plan import Days
from service.usecases.root_causes import to_check


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked for: the day (None for each site's today), how far ahead, whose, and how many items a page."""

    on: date | None = None
    horizon_days: int = 0
    technician: str | None = None
    unassigned: bool = False
    limit: int = 2000


def pull(store: Store, now: datetime, asked: Asked, shown: frozenset[int]) -> tuple[PmList, frozenset[int] | None]:
    """The stops that are not shown yet, up to the limit; with the sites shown then where there are more.

    A site comes once and whole, however the list changes between two pages.
    """
    technician_id = _technician(store, asked.technician)
    days = _days(store, now, asked)
    past = _past(now, asked, days)
    for_all = past_list.tasks_then(store, past) if past else fleet_tasks(store)
    tasks = {(code, ""): task for code, task in for_all.items()} | {(task.code, ""): task for task in OTHER_WORK}
    entries, sources = past_list.items(store, past, days.last_in, for_all) if past else _items(store, days, for_all)
    who = store.technicians.by_id()
    entries = once(entries if past else plan.planned(store, entries, who, days))
    if asked.unassigned:
        entries = [entry for entry in entries if entry.technician_id is None]
    if asked.technician is not None:
        entries = [entry for entry in entries if entry.technician_id == technician_id]
    stops = into_stops(entries, *store.due.names(*tied(entries)))
    today_at = {stop[0].site_id: days.today_in[stop[0].zone] for stop in stops}
    page, more = _page(stops, shown, asked.limit)
    rows = full_rows(store, [entry for stop in page for entry in stop], sources, who)
    pulled = PmList(
        asked.horizon_days,
        tuple(Stop(today_at[stop[0].site_id], tuple(rows[each.unit_id, each.item] for each in stop)) for stop in page),
        tasks | _own_tasks(tasks, rows.values()),
        whole=count(stops, today_at, asked.horizon_days),
        root_causes=to_check(store, sorted({entry.unit_id for stop in page for entry in stop if entry.unit_id})),
        company=store.company.get().letterhead,
        technicians={each.code: each.name for each in who.values()},
    )
    return pulled, (shown | {stop[0].site_id for stop in page} if more else None)


def _technician(store: Store, code: str | None) -> int | None:
    identity = None if code is None else store.technicians.id_of(code)
    if code is not None and identity is None:
        raise Invalid([Fault("technician", code, f"there is no technician {code!r}")])
    return identity


def _days(store: Store, now: datetime, asked: Asked) -> Days:
    """A call for a site that is not known goes by UTC."""
    today_in = {zone: asked.on or local_day(now, zone) for zone in {*store.sites.zones(), "UTC"}}
    ahead = timedelta(days=asked.horizon_days)
    return Days(today_in, {zone: (day + ahead).isoformat() for zone, day in today_in.items()})


def _past(now: datetime, asked: Asked, days: Days) -> date | None:
    """The day asked for if it is over at every site."""
    over = asked.on is not None and all(asked.on < local_day(now, zone) for zone in days.today_in)
    return asked.on if over else None


def _page(stops: Sequence[list[Entry]], shown: frozenset[int], limit: int) -> tuple[list[list[Entry]], bool]:
    """Whole stops until the limit of items is reached, and whether more are left."""
    page: list[list[Entry]] = []
    items = 0
    for stop in stops:
        if stop[0].site_id in shown:
            continue
        if items >= limit:
            return page, True
        page.append(stop)
        items += len(stop)
    return page, False


def _items(store: Store, days: Days, tasks: Mapping[str, Task]) -> tuple[list[Entry], Sources]:
    """All that is on the list now, and what the rows of calls and root causes are made from."""
    others = [*call_items(store), *_in_service(store, list(root_cause_items(store)), days)]
    entries = [*_due(store, days, tasks), *(entry for entry, _ in others)]
    return entries, {(entry.unit_id, entry.item): source for entry, source in others}


def _in_service(store: Store, items: Sequence[Item], days: Days) -> Iterator[Item]:
    """Those of units that are in our care and in service on some day of the list."""
    cares = {key: log.care for key, log in store.unit_logs.of(sorted({entry.unit_id for entry, _ in items}))}
    for entry, source in items:
        if not cares[entry.unit_id].is_away(days.today_in[entry.zone], days.last_in[entry.zone]):
            yield entry, source


def _due(store: Store, days: Days, tasks: Mapping[str, Task]) -> Iterator[Entry]:
    minutes = {code: task.minutes for code, task in tasks.items()}
    todays = {zone: (day.toordinal(), day.isoformat()) for zone, day in days.today_in.items()}
    last_in = days.last_in
    for site_id, unit_id, task, due_on, interval, own, zone, technician_id, outcome, away in store.due.until(days.last):
        ordinal, today = todays[zone]
        if due_on <= last_in[zone] and not is_away(away, today, last_in[zone]):
            work = class_of(task, outcome)
            key = key_of_item(work, task, due_on, interval, ordinal)
            spent = minutes[task] if own is None else orjson.loads(own).get("minutes", minutes[task])
            yield Entry(site_id, unit_id, task, key, due_on, spent, work, zone, technician_id)


def _own_tasks(tasks: Mapping[tuple[str, str], Task], rows: Iterable[DueRow]) -> dict[tuple[str, str], Task]:
    return {
        (row.task, row.unit): changed_task(tasks[row.task, ""], Setting(row.task, orjson.loads(row.own)))
        for row in rows
        if row.own is not None
    }
