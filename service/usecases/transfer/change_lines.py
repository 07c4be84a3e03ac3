"""Changes of settings, calls, decisions, ends and facts as lines of the export, and imported again."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import orjson

from service.domain.audit import Actor
from service.domain.errors import DomainError, Fault, Invalid
from service.domain.instants import to_text
from service.domain.maintenance.settings import Setting, changed_task, default_task
from service.domain.plain import as_entered, from_plain
from service.domain.record.calls import STATES as CALL_STATES
from service.domain.record.calls import URGENCIES, Call
from service.domain.record.changes import FACTS, OF_A_PART, Change
from service.domain.record.dated_facts import check_facts
from service.domain.root_causes.life_cycle import STATES
from service.storage.documents import day
from service.storage.store import Store
from service.usecases import audit
from service.usecases.maintenance.due import changed as history_changed
from service.usecases.maintenance.due import refresh_unit
from service.usecases.planning.assignments_then import check_kept
from service.usecases.record import dated_facts


def line_of(change: Change) -> dict[str, Any]:
    """A change as a line."""
    about = {"of": change.resource, "key": change.key, "at": to_text(change.at), "by": change.by}
    before = {} if change.before is None else {"before": orjson.loads(change.before)}
    return {"record": "change", **about, **before, "after": orjson.loads(change.after)}


def take(store: Store, actor: Actor, made: Actor, line: Mapping[str, Any], text: str) -> str:
    """Store a change from a line, made by `made`: "added", or "unchanged" where it is stored."""
    for name in ("before", "after"):
        if line.get(name) is not None:
            _check(line["of"], line["key"], name, line[name])
    before, after = (
        None if line.get(name) is None else orjson.dumps(line[name]).decode() for name in ("before", "after")
    )
    change = Change(made.at, made.name, line["of"], line["key"], before, after or "{}")
    if store.changes.is_stored(change):
        return "unchanged"
    store.changes.add(change)
    if change.resource == "unit_task":
        store.changes.own_settings.add(change.key)
    if change.resource in FACTS:
        dated_facts.settle_later(store, change.resource, change.key)
    audit.imported(store, actor, "change", f"{change.resource}/{change.key}", before=None, after=text)
    return "added"


def _check(of: str, key: str, name: str, record: Mapping[str, Any]) -> None:
    """Refuse what could not be read again."""
    try:
        if of == "call":
            call = from_plain(Call, {**record, "time_zone": "UTC"})
            if call.state not in CALL_STATES or call.urgency not in URGENCIES:
                raise ValueError("a call has a state and an urgency")
        elif of in FACTS:
            check_facts(of, record)
        elif of == "root_cause":
            if record["state"] not in STATES or not isinstance(record["note"], str | None):
                raise ValueError("a decision has a state and a note")
        elif of in OF_A_PART:
            _check_part(of, name, record)
        else:
            changed_task(default_task(key.rpartition("/")[2]), Setting(key, record))
    except (DomainError, KeyError, TypeError, ValueError, AttributeError) as wrong:
        raise Invalid([Fault(name, None, f"is no {of.replace('_', ' ')} as an export writes it")]) from wrong


def _check_part(of: str, name: str, record: Mapping[str, Any]) -> None:
    if of == "end":
        day(record["on"])
    elif record or name == "before":  # after an assignment was deleted there is none
        check_kept(record)


def settle(store: Store, actor: Actor) -> None:
    """Add to the histories of calls what an import made of them, where their last known state is another.

    A unit's own setting that was taken back is stored as such. Facts of sites and units are settled likewise.
    """
    for call_id in sorted(store.changes.unsettled):
        known, now = store.changes.last_recorded("call", call_id), store.calls.get(call_id)
        if known is None or _facts(_by_present_tag(store, _read(known))) != _facts(now):
            after = orjson.dumps(as_entered(now)).decode()
            store.changes.add(Change(actor.at, actor.name, "call", call_id, known, after))
    store.changes.unsettled.clear()
    dated_facts.settle(store, actor)
    for key in sorted(store.changes.own_settings):
        reset(store, *key.rpartition("/")[::2])
    store.changes.own_settings.clear()


def reset(store: Store, tag: str, task: str) -> None:
    """Store a unit's own setting that was taken back, which has no line: its changes are read by it."""
    present = store.units.present_tag(tag)
    if present is None:
        return
    place = store.units.place(present, to_write=True)
    if task not in store.task_settings.at(place.id):
        store.task_settings.save_own(Setting(task, {}, 1), unit_id=place.id, customer_id=place.customer_id)
        refresh_unit(store, *history_changed(store, place))


def _facts(call: Call) -> Call:
    """A call without what an import may make anew; its unit's locations say where it was received."""
    site = call.site if call.unit is None else None
    return replace(call, version=1, time_zone="UTC", posted_at=call.received_at, posted_by="", site=site)


def _by_present_tag(store: Store, call: Call) -> Call:
    """The call of a unit by its present tag; a file may name one that is not known here."""
    return call if call.unit is None else replace(call, unit=store.units.present_tag(call.unit) or call.unit)


def _read(text: str) -> Call:
    return from_plain(Call, {**orjson.loads(text), "time_zone": "UTC"})
