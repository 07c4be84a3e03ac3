"""Export all records in the import format; what is referred to comes first."""

from collections.abc import Callable, Generator, Iterable, Iterator
from functools import partial
from itertools import chain
from typing import Any, TypeVar

import orjson

from service.domain.instants import to_text
from service.domain.plain import as_entered
from service.domain.record.fleet import UnitFilter
from service.domain.record.former import former_visit
from service.domain.record.pauses import Of, plain_text
from service.domain.record.visits import Visit
from service.storage.store import Store
from service.usecases.planning.assignments import body_of as body_of_assignment
from service.usecases.record import photos
from service.usecases.record.attendances import body_of as body_of_attendance
from service.usecases.record.calls import body_of as body_of_call
from service.usecases.record.company import body_of as body_of_company
from service.usecases.record.pauses import NAMES
from service.usecases.record.visits import body_of, first_body
from service.usecases.transfer import (
    answer_lines,
    audit_lines,
    baseline_lines,
    change_lines,
    root_cause_lines,
    version_lines,
)
from service.usecases.year import issues

CHUNK = 500
Record = dict[str, Any]
Posted = TypeVar("Posted")


def records(store: Store, *, pictures: bool = True, trail: bool = True) -> Generator[Record]:
    """All records in order; retirements come last, because a visit must not be later than its unit's.

    The audit trail comes first: an import stores it before it makes entries of its own. Without `pictures` the lines
    of photos have none: their files are to be copied.
    """
    if trail:
        yield from audit_lines.lines(store)
    retirements: list[Record] = []
    replacing: list[Record] = []
    if (company := store.company.get()).version:
        yield {"record": "company", **body_of_company(company)}
    for resource, page in (("customer", store.customers.page), ("technician", store.technicians.page)):
        yield from _pages(resource, "code", page)
    yield from _pages("site", "code", store.sites.page)
    for unit in _pages("unit", "tag", lambda **where: store.units.page(UnitFilter(retired=True), **where)):
        for name, later in (("retired_on", retirements), ("replaces", replacing)):  # it may replace one that follows
            if name in unit:
                later.append({**{key: unit[key] for key in ("record", "tag", "site")}, name: unit.pop(name)})
        yield {name: part for name, part in unit.items() if name not in ("replaced_by", "replaced_on")}
    yield from replacing
    for tag, former in store.tags.everyones():
        yield {"record": "former_tag", "unit": tag, "tag": former.tag, "at": to_text(former.at), "by": former.by}
    yield from _locations(store)
    yield from _posted(store.changes.in_order, lambda each: [change_lines.line_of(each)])
    yield from _settings(store)
    yield from _planning(store)
    yield from _pauses(store, "unit")
    yield from _pauses(store, "site")
    yield from _posted(store.calls.in_order, lambda each: [{"record": "call", **body_of_call(each), **_made(each)}])
    yield from _assignments(store)
    yield from _posted(
        store.attendances.in_order, lambda each: [{"record": "attendance", **body_of_attendance(each), **_made(each)}]
    )
    yield from _posted(store.visits.in_order_of_posting, partial(_visit, store))
    yield from _posted(store.photos.in_order, lambda each: [photos.line_of(store, each, picture=pictures)])
    yield from baseline_lines.lines(store)
    yield from _root_causes(store)
    yield from chain(issues.lines(store), retirements, answer_lines.lines(store), version_lines.lines(store))


def _locations(store: Store) -> Iterator[Record]:
    """The locations of the units that were moved, in the order in which they were recorded."""
    for tag in store.locations.moved():
        for each in store.log_of(tag).moves:
            made = {} if each.at is None else {"at": to_text(each.at), "by": each.by}
            about = {"unit": tag, "site": each.site.code, "from": each.starts_on and each.starts_on.isoformat()}
            given = {name: part for name, part in {**about, "reason": each.reason, **made}.items() if part is not None}
            yield {"record": "location", **given}


def _settings(store: Store) -> Iterator[Record]:
    """What was learned, and settings that differ from the catalogue; a setting that was reset is left out."""
    for figures, learned_at in store.learned.everyones():
        yield {"record": "learned", "learned_at": learned_at, **orjson.loads(figures)}
    for code, setting in sorted(store.task_settings.all().items()):
        if setting.changes:
            yield {"record": "task", "code": code, **setting.changes}
    for tag, own in store.task_settings.everyones():
        if own.changes:
            yield {"record": "unit_task", "unit": tag, "code": own.task, **own.changes}


def _planning(store: Store) -> Iterator[Record]:
    for tag, task, on, since in store.first_dates.everyones():
        yield {"record": "first_date", "unit": tag, "task": task, "on": on, "since": since}
    for first, last, minutes in store.travel_times.everyones():
        yield {"record": "travel_time", "from": first, "to": last, "minutes": minutes}
    yield from _posted(store.vans.in_order, lambda each: [{"record": "van_movement", **as_entered(each)}])


def _pauses(store: Store, of: Of) -> Iterator[Record]:
    for key, pauses in store.pauses.everyones(of):
        for pause in pauses:
            *former, now = map(plain_text, pause.texts)
            yield {"record": NAMES[of], of: key, "number": pause.number, **now, "former": former}


def _pages(resource: str, key: str, page: Callable[..., list[Any]]) -> Iterator[Record]:
    after: str | None = None
    while found := page(after=after, limit=CHUNK):
        for record in found:
            body = as_entered(record)
            del body["version"]
            yield {"record": resource, **body}
        after = getattr(found[-1], key)


def _posted(
    page: Callable[[int, int], tuple[list[Posted], int | None]], lines: Callable[[Posted], Iterable[Record]]
) -> Iterator[Record]:
    """The lines of all of a resource as they were posted."""
    after: int | None = 0
    while after is not None:
        found, after = page(after, CHUNK)
        for each in found:
            yield from lines(each)


def _assignments(store: Store) -> Iterator[Record]:
    after = 0
    while found := store.assignments.page(None, None, after, CHUNK):
        for each in found:
            yield {"record": "assignment", "id": each.id, **body_of_assignment(each), **_made(each)}
        after = found[-1].id


def _root_causes(store: Store) -> Iterator[Record]:
    """The root causes in their current state: decisions on them are recorded nowhere else."""
    after = 0
    while found := store.root_causes.in_order(after, CHUNK):
        yield from map(root_cause_lines.line_of, found)
        after = found[-1].id


def _visit(store: Store, visit: Visit) -> Iterator[Record]:
    corrected = visit.version > 1
    yield {"record": "visit", **(first_body(store, visit.id) if corrected else body_of(visit)), **_made(visit)}
    for made in store.visits.corrections(visit.id) if corrected else ():
        about = {"visit": visit.id, "at": to_text(made.at), "by": made.by}
        if made.unvoids:
            yield from _void(former_visit(visit, made))
            yield {"record": "unvoid", **about, "reason": made.why}
        elif made.from_unit is not None:
            yield {"record": "visit_move", **about, "from_unit": made.from_unit, "reason": made.why}
        else:
            yield {"record": "correction", **about, "correction": orjson.loads(made.changes)}
    yield from _void(visit)


def _made(posted: Any) -> dict[str, str]:
    """When and by whom something was posted: what was known on a past day follows from it."""
    return {"posted_at": to_text(posted.posted_at), "posted_by": posted.posted_by}


def _void(visit: Visit) -> Iterator[Record]:
    if visit.void is not None:
        about = {"visit": visit.id, "at": to_text(visit.void.at), "by": visit.void.by}
        yield {"record": "void", **about, "reason": visit.void.reason}
