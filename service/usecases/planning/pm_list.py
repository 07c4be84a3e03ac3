"""Pull the day: calls, due items and root causes in the order of what is at stake, stop by stop."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

import orjson

from service.domain.errors import Fault, Invalid
from service.domain.instants import local_day
from service.domain.maintenance.list_order import CONTAINING, Entry, class_of, into_stops, key_of_item
from service.domain.maintenance.pm_list import OTHER_WORK, DueRow, PmList, Stop, count
from service.domain.maintenance.settings import Setting, changed_task
from service.domain.maintenance.tasks import Task
from service.domain.record.fleet import Technician
from service.domain.record.pauses import is_away
from service.storage.store import Store
from service.usecases.maintenance.due import fleet_tasks
from service.usecases.planning import past_list, plan
from service.usecases.planning.assignments_then import in_force_then
from service.usecases.planning.driving import FORWARD_DAYS, MOST_ITEMS, Rows, drive
from service.usecases.planning.list_items import Item, Sources, call_items, full_rows, once, root_cause_items
from service.usecases.planning.moves_ahead import Ahead, moved_by
from service.usecases.planning.plan import Days
from service.usecases.planning.shifts import Drive, day_of
from service.usecases.root_causes.root_causes import to_check


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked for: the day (None for each site's today), how far ahead, whose, and how many items a page.

    With `drive` the stops come in the order in which they are driven to.
    """

    on: date | None = None
    horizon_days: int = 0
    technician: str | None = None
    unassigned: bool = False
    limit: int = 2000
    drive: Drive | None = None


def pull(store: Store, now: datetime, asked: Asked, shown: frozenset[int]) -> tuple[PmList, frozenset[int] | None]:
    """The stops that are not shown yet, up to the limit; with the sites shown then where there are more.

    A site comes once and whole, however the list changes between two pages.
    """
    technician_id = _technician(store, asked.technician)
    asked = replace(asked, on=day_of(store, asked.drive, asked.on))
    days = _days(store, now, asked)
    past = _past(now, asked, days)
    for_all = past_list.tasks_then(store, past) if past else fleet_tasks(store)
    if asked.drive is not None:
        return _laid_out(store, now, asked, days, for_all, past), None
    who = store.technicians.by_id()
    if past:
        then = in_force_then(store, past)
        entries, sources = past_list.items(store, past, days.last_in, for_all, then)
        entries = plan.of_those_present(plan.laid_over(entries, then, days), who, days)
    else:
        entries, sources = _planned(store, days, for_all, moved_by(store, now, asked.on, for_all), who)
    entries = _whose(once(entries), asked, technician_id)
    stops = into_stops(entries, store.due.names)
    today_at = {stop[0].site_id: days.today_in[stop[0].zone] for stop in stops}
    page, more = _page(stops, shown, asked.limit)
    rows = full_rows(store, [entry for stop in page for entry in stop], sources, who)
    pulled = PmList(
        asked.horizon_days,
        tuple(Stop(today_at[stop[0].site_id], tuple(rows[each.unit_id, each.item] for each in stop)) for stop in page),
        _tasks(for_all, rows.values()),
        whole=count(stops, today_at, asked.horizon_days),
        root_causes=to_check(store, sorted({entry.unit_id for stop in page for entry in stop if entry.unit_id})),
        company=store.company.get().letterhead,
        technicians={each.code: each.name for each in who.values()},
    )
    return pulled, (shown | {stop[0].site_id for stop in page} if more else None)


def _whose(entries: list[Entry], asked: Asked, technician_id: int | None) -> list[Entry]:
    if asked.unassigned:
        entries = [entry for entry in entries if entry.technician_id is None]
    if asked.technician is not None:
        entries = [entry for entry in entries if entry.technician_id == technician_id]
    return entries


def _laid_out(
    store: Store, now: datetime, asked: Asked, days: Days, tasks: Mapping[str, Task], past: date | None
) -> PmList:
    """The list with its stops in the order in which they are driven to."""
    if past is not None:
        raise Invalid([Fault("on", past.isoformat(), "is over: a day is laid out from today on")])
    technician_id, who = _technician(store, asked.technician), store.technicians.by_id()
    moved = moved_by(store, now, asked.on, tasks)
    listed, sources = _planned(store, days, tasks, moved, who)
    entries = _whose(once(listed), asked, technician_id)
    stops = into_stops(entries, store.due.names)
    ordered = [entry for stop in stops for entry in stop]
    chosen = ordered[:MOST_ITEMS]
    ahead = [each for each in _soon(store, days, tasks, ordered, chosen) if each.unit_id not in moved]
    rows = full_rows(store, [*chosen, *ahead], sources, who)
    all_tasks = _tasks(tasks, rows.values())
    empty = PmList(asked.horizon_days, (), all_tasks)
    of = Rows(
        due=[rows[entry.unit_id, entry.item] for entry in chosen],
        soon=[rows[entry.unit_id, entry.item] for entry in ahead],
        task_of=empty.task,
        calls={source.call.id: source.call for source in sources.values() if source.call},
        beyond=len(ordered) - len(chosen),
    )
    driven, day = drive(store, now, asked.drive or Drive(), (asked.on, asked.technician), of)
    today_at = {stop[0].site_id: days.today_in[stop[0].zone] for stop in stops}
    return replace(
        empty,
        stops=driven,
        day=day,
        whole=count(stops, today_at, asked.horizon_days),
        root_causes=to_check(store, sorted({row.unit_id for stop in driven for row in stop.rows if row.unit_id})),
        company=store.company.get().letterhead,
        technicians={each.code: each.name for each in who.values()},
    )


def _soon(
    store: Store, days: Days, tasks: Mapping[str, Task], listed: Sequence[Entry], chosen: Sequence[Entry]
) -> list[Entry]:
    """What falls due within two weeks at some sites of the list, and is neither planned nor part of what is listed."""
    ahead = timedelta(days=FORWARD_DAYS)
    last_in = {zone: (date.fromisoformat(last) + ahead).isoformat() for zone, last in days.last_in.items()}
    known: dict[int, set[str]] = {}
    sites = {entry.site_id for entry in chosen}
    for entry in listed:
        known.setdefault(entry.unit_id, set()).update((entry.item, *entry.includes))
    targets = {each[:3] for each in store.assignments.in_force(min(days.today_in.values()).isoformat())}
    found = []
    for entry in _due(store, replace(days, last_in=last_in), tasks):
        own, site, unit = known.get(entry.unit_id, set()), entry.site_id, entry.unit_id
        with_it = {entry.item, *CONTAINING.get(entry.item, ())}
        planned = {(site, unit, entry.item), (site, unit, None), (site, None, None)} & targets
        inside = any(entry.item in CONTAINING.get(item, ()) for item in own)
        if site in sites and entry.work == "pm" and not (planned or inside or own & with_it):
            found.append(entry)
    return once(found)


def _technician(store: Store, code: str | None) -> int | None:
    identity = None if code is None else store.technicians.id_of(code)
    if code is not None and identity is None:
        raise Invalid([Fault("technician", code, f"there is no technician {code!r}")])
    return identity


def _days(store: Store, now: datetime, asked: Asked) -> Days:
    """A call for a site that is not known goes by the company's clock."""
    zones = frozenset(store.sites.zones())
    today_in = {zone: asked.on or local_day(now, zone) for zone in {*zones, store.company.clock()}}
    ahead = timedelta(days=asked.horizon_days)
    return Days(today_in, {zone: (day + ahead).isoformat() for zone, day in today_in.items()}, zones)


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


def _planned(
    store: Store, days: Days, tasks: Mapping[str, Task], moved: Ahead, who: Mapping[int, Technician]
) -> tuple[list[Entry], Sources]:
    """What is on the list as it is planned, and what the rows of calls, root causes and moved units are made from."""
    others = [
        *call_items(store, min(days.today_in.values())),
        *_in_service(store, list(root_cause_items(store)), days, moved),
    ]
    due: Iterable[Entry] = _due(store, days, tasks)
    sources = {(entry.unit_id, entry.item): source for entry, source in others}
    if moved:
        there = [(each, days.today_in[each.log.time_zone]) for each in moved.values()]
        listed = [item for each, on in there for item in each.listed(tasks, on, days.last_in[each.log.time_zone])]
        due = [*(entry for entry in due if entry.unit_id not in moved), *(entry for entry, _ in listed)]
        items = (item for each, on in there for item in each.listed(tasks, on))
        sources |= {(entry.unit_id, entry.item): source for entry, source in items}
    entries = [*due, *(entry for entry, _ in others)]
    return plan.planned(store, entries, who, days, moved), sources


def _in_service(store: Store, items: Sequence[Item], days: Days, moved: Ahead) -> Iterator[Item]:
    """Those of units that are in our care and in service on some day of the list, each where its unit will stand."""
    cares = {key: log.care for key, log in store.unit_logs.of(sorted({entry.unit_id for entry, _ in items}))}
    cares |= {key: each.log.care for key, each in moved.items()}
    for entry, source in items:
        there = moved[entry.unit_id].placed(entry) if entry.unit_id in moved else entry
        if not cares[entry.unit_id].is_away(days.today_in[there.zone], days.last_in[there.zone]):
            yield there, source


def _due(store: Store, days: Days, tasks: Mapping[str, Task]) -> Iterator[Entry]:
    minutes = {code: task.minutes for code, task in tasks.items()}
    todays = {zone: (day.toordinal(), day.isoformat()) for zone, day in days.today_in.items()}
    last_in, due = days.last_in, store.due.until(days.last_at_sites)
    for site_id, unit_id, task, due_on, interval, own, zone, technician_id, outcome, away in due:
        ordinal, today = todays[zone]
        if due_on <= last_in[zone] and not (away and is_away(away, today, last_in[zone])):
            work = class_of(task, outcome)
            key = key_of_item(work, task, due_on, interval, ordinal)
            spent = minutes[task] if own is None else orjson.loads(own).get("minutes", minutes[task])
            yield Entry(site_id, unit_id, task, key, due_on, spent, work, zone, technician_id)


def _tasks(for_all: Mapping[str, Task], rows: Iterable[DueRow]) -> dict[tuple[str, str], Task]:
    """All tasks by code, and those that a unit of the rows has its own settings for."""
    tasks = {(code, ""): task for code, task in for_all.items()} | {(task.code, ""): task for task in OTHER_WORK}
    return tasks | _own_tasks(tasks, rows)


def _own_tasks(tasks: Mapping[tuple[str, str], Task], rows: Iterable[DueRow]) -> dict[tuple[str, str], Task]:
    return {
        (row.task, row.unit): changed_task(tasks[row.task, ""], Setting(row.task, orjson.loads(row.own)))
        for row in rows
        if row.own is not None
    }
