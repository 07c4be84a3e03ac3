"""Write the whole database as records in the import format; what is referred to comes first."""

from collections.abc import Callable, Iterator
from typing import Any

import orjson

from service.domain.instants import to_text
from service.domain.record.as_entered import as_entered
from service.domain.record.fleet import UnitFilter
from service.domain.record.visits import Visit
from service.storage.store import Store
from service.usecases import root_cause_lines
from service.usecases.visits import body_of, first_body

CHUNK = 500
Record = dict[str, Any]


def records(store: Store) -> Iterator[Record]:
    """Every record of the database, one after the other; a retirement comes last, because visits may be later than it."""
    retirements: list[Record] = []
    for resource, page in (("customer", store.customers.page), ("technician", store.technicians.page)):
        yield from _told(resource, "code", page)
    yield from _told("site", "code", store.sites.page)
    for unit in _told("unit", "tag", lambda **where: store.units.page(UnitFilter(retired=True), **where)):
        if "retired_on" in unit:
            named = {name: unit[name] for name in ("record", "tag", "site")}
            retirements.append({**named, "retired_on": unit.pop("retired_on")})
        yield unit
    yield from _settings(store)
    yield from _visits(store)
    yield from _root_causes(store)
    yield from retirements


def _settings(store: Store) -> Iterator[Record]:
    """What is set away from the catalogue; a setting taken back says nothing any more."""
    for code, setting in sorted(store.task_settings.all().items()):
        if setting.changes:
            yield {"record": "task", "code": code, **setting.changes}
    for tag, own in store.task_settings.everyones():
        if own.changes:
            yield {"record": "unit_task", "unit": tag, "code": own.task, **own.changes}


def _told(resource: str, key: str, page: Callable[..., list[Any]]) -> Iterator[Record]:
    after: str | None = None
    while found := page(after=after, limit=CHUNK):
        for record in found:
            told = as_entered(record)
            del told["version"]
            yield {"record": resource, **told}
        after = getattr(found[-1], key)


def _visits(store: Store) -> Iterator[Record]:
    after: int | None = 0
    while after is not None:
        found, after = store.visits.in_order_of_posting(after, CHUNK)
        for visit in found:
            yield from _visit(store, visit)


def _root_causes(store: Store) -> Iterator[Record]:
    """The cases as they stand: what was decided on them is told nowhere else."""
    after = 0
    while found := store.root_causes.in_order(after, CHUNK):
        yield from map(root_cause_lines.line_of, found)
        after = found[-1].id


def _visit(store: Store, visit: Visit) -> Iterator[Record]:
    corrected = visit.version > 1
    yield {"record": "visit", **(first_body(store, visit.id) if corrected else body_of(visit))}
    for made in store.visits.corrections(visit.id) if corrected else ():
        about = {"visit": visit.id, "at": to_text(made.at), "by": made.by}
        yield {"record": "correction", **about, "correction": orjson.loads(made.changes)}
    if visit.void is not None:
        about = {"visit": visit.id, "at": to_text(visit.void.at), "by": visit.void.by}
        yield {"record": "void", **about, "reason": visit.void.reason}
