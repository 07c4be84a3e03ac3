"""The PM list of a past day, from the histories as they were known when that day ended."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date

import orjson

from service.domain.condition.foreseen import foreseen_of
from service.domain.instants import end_of_day, to_text
from service.domain.maintenance.due import DueItem, due_of, latest_of
from service.domain.maintenance.list_order import Entry, class_of, key_of_item
from service.domain.maintenance.pm_list import DueRow, UnitFacts
from service.domain.maintenance.settings import Setting, changed_task
from service.domain.maintenance.tasks import Task
from service.domain.record.calls import Call
from service.domain.record.pauses import is_away
from service.domain.record.unit_log import UnitLog
from service.domain.root_causes.life_cycle import RootCause
from service.domain.summary.settings import ShopTasks
from service.storage.assignments import InForce, Target
from service.storage.store import Store
from service.usecases.maintenance.learning import learned_by
from service.usecases.planning.list_items import Item, Source, Sources, call_item, root_cause_item
from service.usecases.record.ends import Ends
from service.usecases.year.summaries import root_causes_then

CHUNK = 200
FAR = date.max.isoformat()


def tasks_then(store: Store, on: date) -> dict[str, Task]:
    """The tasks as they were set for all units when a day had ended everywhere, by code."""
    end = max(end_of_day(on, zone) for zone in {*store.sites.zones(), store.company.clock()})
    settings = {task: each.changes for task, each in store.task_settings.all().items()}
    shop = ShopTasks(as_of=end, settings=settings, changes=store.task_settings.changes())
    return {task.code: task for task in shop.tasks}


def items(
    store: Store, on: date, last_in: Mapping[str, str], tasks: Mapping[str, Task], plan: Mapping[Target, InForce]
) -> tuple[list[Entry], Sources]:
    """All that was due on a day, or brought forward by the `plan` of then, before that plan is laid over it.

    `last_in` is the last day of its horizon in each time zone. A call goes by the end of the day at its site, without
    one at the company. Every history is read: this is for one day in a while.
    """
    forward: dict[tuple[int, int | None], set[str]] = {}
    for site_id, unit_id, task, _, day, _ in plan.values():
        if task is not None and day is not None:
            forward.setdefault((site_id, unit_id), set()).add(task)
    found = [*_of_units(store, on, last_in, tasks, forward), *_calls(store, on)]
    return [entry for entry, _ in found], {(entry.unit_id, entry.item): source for entry, source in found}


def _calls(store: Store, on: date) -> Iterator[Item]:
    ours = store.company.clock()
    ends = {zone: to_text(end_of_day(on, zone)) for zone in {*store.sites.zones(), ours}}
    return (_call(store, replace(call, time_zone=ours), on) for call in store.calls.waiting_then(ends))


def _call(store: Store, call: Call, on: date) -> Item:
    """A call as it was known at the end of a day: for which unit, and where that was known to stand."""
    tag = None if call.unit is None else store.units.present_tag(call.unit)
    code = call.site if tag is None else _site_then(store.log_of(tag), call, on)
    site_id, technician, zone = 0, call.technician, call.time_zone
    if code is not None and (ids := store.sites.ids_of(code)) is not None:
        site = store.sites.get(code)
        site_id, technician, zone = ids[0], technician or site.technician, site.time_zone
    unit_id = 0 if tag is None else store.units.place(tag).id
    technician_id = None if technician is None else store.technicians.id_of(technician)
    return call_item(replace(call, time_zone=zone), site_id, unit_id, technician_id)


def _site_then(log: UnitLog, call: Call, on: date) -> str:
    """The site at which the unit of a call stood when it was received, by what was known at the end of a day."""
    if not log.moves:
        return log.site.code
    known = log.known_at(end_of_day(on, log.time_zone))
    known = log.known_at(end_of_day(on, known.time_zone))
    return known.standing_at(call.received_at).site.code


def _of_units(
    store: Store,
    on: date,
    last_in: Mapping[str, str],
    tasks: Mapping[str, Task],
    forward: Mapping[tuple[int, int | None], Collection[str]],
) -> Iterator[Item]:
    technicians, known = store.technicians.ids(), Ends(store)
    for chunk in store.unit_logs.in_chunks(CHUNK):
        logs = [(unit_id, log) for unit_id, log in chunk if log.unit.registered_on <= on]
        facts = store.due.facts_of_units([unit_id for unit_id, _ in logs])
        thens = {unit_id: _then(log, on, known) for unit_id, log in logs}
        ends = {then.unit.tag: end_of_day(on, then.time_zone) for then in thens.values()}
        zones = {log.unit.tag: log.time_zone for _, log in logs}
        found = root_causes_then(store, [unit_id for unit_id, _ in logs], zones, ends)
        for unit_id, then in thens.items():
            unit = facts_at(store, facts[unit_id], then.site.code)
            technician_id = technicians.get(unit.technician or "")
            items = due_of(then, tasks, foreseen_of(then, tasks, learned_by(store, ends[then.unit.tag])))
            wanted = forward.get((unit.site_id, unit_id), ())
            planned = [item._replace(away=None) for item in items if item.task in wanted]
            others = [item for item in items if item.task not in wanted]
            listed = due_on_list(then, unit, tasks, others, last_in[then.time_zone], on)
            for entry, source in (*listed, *due_on_list(then, unit, tasks, planned, FAR, on)):
                yield entry._replace(technician_id=technician_id), source
            if not then.care.is_away(on, last_in[then.time_zone]):
                yield from _root_causes(found.get(then.unit.tag, ()), then, (unit.site_id, unit_id, technician_id))


def facts_at(store: Store, unit: UnitFacts, site: str) -> UnitFacts:
    """The unit at the site where it stood or will stand."""
    if unit.site == site or (ids := store.sites.ids_of(site)) is None:
        return unit
    return unit.at(store.due.facts_of_sites([ids[0]])[ids[0]])


def _then(log: UnitLog, on: date, ends: Ends) -> UnitLog:
    """The history as it was known at the end of a day, pauses to come among it, where the unit stood by it."""
    end = end_of_day(on, log.time_zone)
    if log.moves:
        end = end_of_day(on, log.known_at(end).time_zone)
    return ends.known_at(log, end)


def due_on_list(
    log: UnitLog, unit: UnitFacts, tasks: Mapping[str, Task], items: Iterable[DueItem], last: str, on: date
) -> Iterator[Item]:
    """The due items of a unit on the list of a day; `last` is the last day of its horizon."""
    latest = latest_of(log)
    for item in items:
        due_on = item.due_on.isoformat()
        if due_on <= last and not is_away(item.away, on.isoformat(), last):
            work = class_of(item.task, latest.outcome if latest else None)
            key = key_of_item(work, item.task, due_on, item.interval, on.toordinal())
            own = log.settings.get(item.task)
            task = changed_task(tasks[item.task], Setting(item.task, own)) if own else tasks[item.task]
            entry = Entry(unit.site_id, unit.unit_id, item.task, key, due_on, task.minutes, work, log.time_zone)
            yield entry, Source(row=_row(item, unit, log))


def _row(item: DueItem, unit: UnitFacts, log: UnitLog) -> DueRow:
    own = log.settings.get(item.task)
    last_done_on = None if item.last_done_on is None else item.last_done_on.isoformat()
    head = (item.due_on.isoformat(), item.task, item.basis, item.why, item.interval, last_done_on)
    return DueRow._make((*head, *unit, orjson.dumps(own).decode() if own else None, "pm", None, (), None, None))


def _root_causes(found: Iterable[RootCause], then: UnitLog, ids: tuple[int, int, int | None]) -> Iterator[Item]:
    for each in found:
        if each.tier == "strong" and each.state in ("open", "confirmed"):
            item = root_cause_item(each.kind, each.first_seen, each.document, then.time_zone, ids)
            if item is not None:
                yield item
