"""Move a visit to the unit at which it was made: it was posted for another one by mistake."""

from collections.abc import Iterator
from dataclasses import replace

import orjson

from service.domain.audit import Actor
from service.domain.errors import Conflict, Fault, Invalid
from service.domain.instants import to_text
from service.domain.maintenance.due import DueItem
from service.domain.record.former import former_visit
from service.domain.record.visits import Correction, Visit
from service.storage.places import Place
from service.storage.store import Store
from service.usecases.record import attendance_shares, calls, new_components, visits
from service.usecases.record.following import follow


def move_visit(store: Store, actor: Actor, former: Visit, tag: str, reason: str) -> tuple[Visit, list[DueItem]]:
    """Move a visit that was read as `former`; both histories say so. The visit, and what is due at its unit."""
    if former.void is not None:
        raise Conflict(f"The visit {former.id!r} was voided on {to_text(former.void.at)}; post it at the right unit.")
    source, target = _places(store, former, tag)
    here = store.locations.place_at(target, former.arrived_at)
    changed = replace(
        former,
        unit=target.tag,
        site=here.site,
        customer=here.customer,
        time_zone=here.time_zone,
        version=former.version + 1,
    )
    technician_id = _check(store, actor, former, changed, here)
    store.visits.save(changed, here, technician_id=technician_id)
    store.visits.move(changed.id, target)
    keep(store, actor, former, here, source, reason)
    visits.record_change(store, actor, "moved", former, changed, author=None)
    follow(store, store.units.place(source.tag), actor.at)
    _, due = follow(store, store.units.place(target.tag), actor.at)
    return changed, due


def keep(store: Store, made: Actor, former: Visit, here: Place, source: Place, reason: str) -> None:
    """Keep from which unit a visit was moved, and its text before."""
    changes = orjson.dumps({"from_unit": source.tag}).decode()
    text = visits.visit_text(former)
    correction = Correction(number=former.version, at=made.at, by=made.name, why=reason, changes=changes, former=text)
    store.visits.add_correction(former.id, here, correction, source.id)


def restore(store: Store, actor: Actor, made: Actor, former: Visit, source: Place, reason: str) -> bool:
    """Keep from a line of a file that a visit, stored at the right unit, came from another one; whether that is new."""
    known = {(each.at, each.from_unit) for each in store.visits.corrections(former.id)}
    if (made.at, source.tag) in known:
        return False
    changed = replace(former, version=former.version + 1)
    here = store.locations.place_at(store.units.place(former.unit), former.arrived_at)
    technician_id = None if former.technician is None else store.technicians.id_of(former.technician)
    store.visits.save(changed, here, technician_id=technician_id)
    keep(store, made, former, here, source, reason)
    visits.record_change(store, actor, "moved", former, changed, author=made)
    return True


def _places(store: Store, former: Visit, tag: str) -> tuple[Place, Place]:
    """The unit of the visit and the other one, other writers of both kept waiting."""
    known = store.units.present_tag(tag)
    if known is None:
        raise Invalid([Fault("unit", tag, f"there is no unit {tag!r}")])
    if known == former.unit:
        raise Invalid([Fault("unit", tag, "is the unit of the visit already")])
    held = store.units.places_of([store.units.place(each).id for each in (former.unit, known)])
    found = {place.tag: place for place in held}
    return found[former.unit], found[known]


def _check(store: Store, actor: Actor, former: Visit, changed: Visit, here: Place) -> int | None:
    """The technician's identity; Invalid where the visit cannot have been made at the other unit.

    Components that it names, and its former texts, are added to that unit, which has them as well.
    """
    unit, other = store.units.get(changed.unit), store.units.get(former.unit)
    named = {code: other.kinds[code] for code in _components(store, former) if code in other.kinds}
    kinds = {**named, **unit.kinds}
    technician_id = visits.checked(store, actor, changed, here, kinds)
    calls.check_named(store, changed, here.site, former.calls)
    if changed.attendance is not None and changed.site != former.site:
        message = f"stood at the site {changed.site!r}; the attendance was at {former.site!r}"
        raise Invalid([Fault("unit", changed.unit, message)])
    attendance_shares.check_fit(store, changed)
    new_components.register(store, actor, here, unit, kinds)
    return technician_id


def _components(store: Store, visit: Visit) -> Iterator[str]:
    """The components that a visit names, now or before a correction, and those that its photos show."""
    texts = [visit, *(former_visit(visit, made) for made in store.visits.corrections(visit.id))]
    for each in texts:
        named = (
            *(part.component for part in each.readings),
            *(part.component for part in each.replacements),
            *(part.component for part in each.observations),
        )
        yield from filter(None, named)
    yield from (photo.component for photo in store.photos.of_visit(visit.id) if photo.component)
