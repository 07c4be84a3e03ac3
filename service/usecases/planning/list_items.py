"""What stands on the PM list beside due items, and every item of a page in full."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import Any, NamedTuple

import orjson

from service.domain.instants import at_site, from_text, local_day, to_text
from service.domain.maintenance.list_order import CALL, CLASSES, ROOT_CAUSE, Entry, key_of_call, listed_once
from service.domain.maintenance.pm_list import OTHER_WORK, DueRow, UnitFacts
from service.domain.record.calls import Call
from service.domain.record.fleet import Technician
from service.domain.root_causes.causes import dangerous
from service.domain.root_causes.explanation import brief, in_words
from service.storage.company import NO_ZONE
from service.storage.store import Store

MINUTES = {task.code: task.minutes for task in OTHER_WORK}
NO_UNIT = ("", None, None, None)


class Source(NamedTuple):
    """What the row of an item is made from that is no due item as stored: a call, a sentence, or a row made before."""

    call: Call | None = None
    why: str | None = None
    row: DueRow | None = None


Item = tuple[Entry, Source]
Sources = dict[tuple[int, str], Source]  # by unit and item


def once(entries: Iterable[Entry]) -> list[Entry]:
    """The entries, of each unit those that are done with another not listed apart; of no known unit, all of them."""
    units: defaultdict[tuple[int, int], list[Entry]] = defaultdict(list)
    apart: list[Entry] = []
    for entry in entries:
        (units[entry.unit_id, entry.site_id] if entry.unit_id else apart).append(entry)
    return [*apart, *(entry for found in units.values() for entry in (listed_once(found) if found[1:] else found))]


def call_items(store: Store, day: date) -> Iterator[Item]:
    """The calls still to be answered, whatever day they were received or promised for."""
    return (call_item(*waiting) for waiting in waiting_calls(store, day))


def waiting_calls(store: Store, day: date) -> Iterator[tuple[Call, int, int, int | None]]:
    """The calls still to be answered, each with site, unit (0 where unknown) and who goes there.

    That is who was assigned; else the usual technician with the skills that the call asks for, else the only one with
    them who has not left by the day.
    """
    who = store.technicians.by_id()
    for call, site_id, unit_id, usual in store.calls.waiting():
        able = [key for key, each in who.items() if each.is_with_us(day) and set(call.skills) <= set(each.skills)]
        if call.technician is not None or not call.skills or not able or usual in able:
            yield call, site_id, unit_id, usual
        else:
            yield call, site_id, unit_id, able[0] if len(able) == 1 else None


def call_item(call: Call, site_id: int, unit_id: int, technician_id: int | None) -> Item:
    """A call on the list, on every day until it is answered."""
    key = key_of_call(call.urgency, to_text(call.received_at))
    assigned = call.day.isoformat() if call.day else None
    begins = None if call.promised else call.received_on.isoformat()
    item = (site_id, unit_id, call.id, key, call.due_on.isoformat(), MINUTES[CALL], CALL, call.time_zone, technician_id)
    entry = Entry(*item, assigned_day=assigned, begins=begins)
    return entry, Source(call=call)


def root_cause_items(store: Store) -> Iterator[Item]:
    """The root causes that can hurt somebody, from the day they were first seen until they are decided."""
    for site_id, unit_id, technician_id, zone, kind, first_seen, document in store.root_causes.strong():
        found = root_cause_item(kind, from_text(first_seen), document, zone, (site_id, unit_id, technician_id))
        if found is not None:
            yield found


def root_cause_item(
    kind: str, first_seen: datetime, document: str, zone: str, ids: tuple[int, int, int | None]
) -> Item | None:
    """A root cause on the list; None for one that is no danger to people."""
    found = in_words(orjson.loads(document))
    if not dangerous(found["causes"][0]["cause"], kind, (event["condition"] for event in found["events"])):
        return None
    site_id, unit_id, technician_id = ids
    day = local_day(first_seen, zone).isoformat()
    key = (CLASSES.index(ROOT_CAUSE), 0.0, 0.0, day)
    item = f"{ROOT_CAUSE}/{kind}"
    entry = Entry(site_id, unit_id, item, key, day, MINUTES[ROOT_CAUSE], ROOT_CAUSE, zone, technician_id)
    return entry, Source(why=brief(found))


def full_rows(
    store: Store, entries: Sequence[Entry], sources: Sources, who: Mapping[int, Technician]
) -> dict[tuple[int, str], DueRow]:
    """The rows of some entries by unit and item, each with the technician who goes there."""
    rows = {key: source.row for key, source in sources.items() if source.row is not None}
    others = [entry for entry in entries if (entry.unit_id, entry.item) in sources] if sources else []
    stored = {each.unit_id for each in entries if not others or (each.unit_id, each.item) not in sources}
    if stored:
        last = max(entry.due_on for entry in entries)  # one that is done ahead of its date is due later
        rows |= {(row.unit_id, row.task): row for row in store.due.rows_at(sorted(stored), last)}
    of_units = store.due.facts_of_units(sorted({each.unit_id for each in others})) if others else {}
    of_sites = store.due.facts_of_sites(sorted({each.site_id for each in others})) if others else {}
    rows |= {
        (each.unit_id, each.item): _other_row(each, source, of_units.get(each.unit_id), of_sites.get(each.site_id))
        for each in others
        if (source := sources[each.unit_id, each.item]).row is None
    }
    codes = {None: None} | {key: each.code for key, each in who.items()}
    for _, unit_id, item, *_, work, _, technician_id, includes, day, _ in entries:
        row, code = rows[unit_id, item], codes[technician_id]
        if work != "pm" or includes or day or code != row.technician:
            rows[unit_id, item] = row._replace(work=work, includes=includes, technician=code, assigned_day=day)
    return rows


def _other_row(entry: Entry, source: Source, unit: UnitFacts | None, site: tuple[Any, ...] | None) -> DueRow:
    """The row of a call or root cause, as far as its unit and site are known."""
    call = source.call
    if unit is None:
        unit = UnitFacts._make((*NO_UNIT, *(site or _no_site(call, entry.zone)), 0))
    elif site is not None and unit.site_id != entry.site_id:
        unit = unit.at(site)  # the unit was moved since
    task = ROOT_CAUSE if call is None else CALL
    why = sentence_of(call) if call else source.why
    head = (entry.due_on, task, task, why, None, None)
    kind = None if call else entry.item.partition("/")[2]
    return DueRow._make((*head, *unit, None, entry.work, call.id if call else None, entry.includes, None, kind))


def _no_site(call: Call | None, zone: str) -> tuple[Any, ...]:
    """What a row has of a site that is not known."""
    phone = call.by.phone if call and call.by else None
    return "", "Site not known", None, None, zone, None, None, "", "Customer not known", phone, None, 0


def sentence_of(call: Call) -> str:
    """What was called for, by whom and when, and what was promised; UTC is said where nobody's clock is known."""
    utc = " UTC" if call.site is None and call.unit is None and call.time_zone == NO_ZONE else ""
    by = " ".join(filter(None, (call.by.name, call.by.phone))) if call.by else ""
    parts = [
        f"Called on {_clock(call.received_at, call.time_zone)}{utc}{by and f' by {by}'}: {_plain(call.symptom)}.",
        f'"{call.words}"' if call.words else "",
        f"Urgency: {_plain(call.urgency)}.",
    ]
    if call.promised is not None:
        first, last = (_clock(each, call.time_zone) for each in (call.promised.from_, call.promised.until))
        parts.append(f"Promised for {first} to {last}{utc}.")
    return " ".join(filter(None, parts))


def _clock(instant: datetime, zone: str) -> str:
    return at_site(instant, zone)[:16].replace("T", " ")


def _plain(code: str) -> str:
    return code.replace("_", " ")
