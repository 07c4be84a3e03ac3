"""Link a unit to the one in whose place it was put."""

from dataclasses import replace

from service.domain.errors import Fault, Invalid
from service.domain.record.fleet import Unit
from service.storage.places import Place
from service.storage.store import Store
from service.usecases.record.calls import raise_logs

SHOWN = ("tag", "replaces", "installed_on", "registered_on")  # what the linked unit shows of this one


def link(store: Store, place: Place, tag: str | None) -> None:
    """Store which unit this one replaces; Invalid where it cannot."""
    if tag is None:
        store.units.replace(place, None)
        return
    known = store.units.present_tag(tag)
    if known is None:
        raise Invalid([Fault("replaces", tag, f"there is no unit {tag!r}")])
    other = store.units.get(known)
    if place.tag in _before(store, other):
        raise Invalid([Fault("replaces", tag, "is this unit itself, or replaced it")])
    if other.replaced_by not in (None, place.tag):
        raise Invalid([Fault("replaces", tag, f"is replaced by the unit {other.replaced_by!r}")])
    store.units.replace(place, store.units.place(known).id)
    _changed(store, known)


def relink(store: Store, place: Place, former: Unit, changed: Unit) -> Unit:
    """Store another unit as the replaced one, and let the linked units show what changed; the unit as it is now."""
    if changed.replaces != former.replaces:
        link(store, place, changed.replaces)
    if any(getattr(changed, name) != getattr(former, name) for name in SHOWN):
        for tag in filter(None, (former.replaces, former.replaced_by)):
            _changed(store, tag)
    stored = store.units.get(changed.tag)
    return replace(changed, replaces=stored.replaces)


def _before(store: Store, unit: Unit) -> list[str]:
    """The unit and those before it in its place."""
    found = [unit.tag]
    while unit.replaces is not None and unit.replaces not in found:
        unit = store.units.get(unit.replaces)
        found.append(unit.tag)
    return found


def _changed(store: Store, tag: str) -> None:
    """Count a change of what a linked unit and its history show."""
    store.units.count_on(store.units.place(tag, to_write=True))
    raise_logs(store, [tag])
