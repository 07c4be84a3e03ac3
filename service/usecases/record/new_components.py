"""Components that a visit adds to a unit: on the roof there may be more than the record knows."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid
from service.domain.record.fleet import Component, Unit
from service.storage.places import Place
from service.storage.store import Store
from service.usecases import audit

PARTS = ("readings", "replacements")
Named = dict[str, tuple[str, str]]


def split(given: Mapping[str, Any]) -> tuple[Mapping[str, Any], Named]:
    """The visit without the kinds given with components, and those kinds: code -> (field, kind)."""
    named: Named = {}
    plain = dict(given)
    for name in PARTS:
        if any("kind" in part for part in given.get(name) or ()):
            plain[name] = [{key: value for key, value in part.items() if key != "kind"} for part in given[name]]
            for n, part in enumerate(given[name]):
                if "kind" in part and part.get("component") is not None:
                    named.setdefault(part["component"], (f"{name}.{n}.kind", part["kind"]))
    return (plain, named) if named or plain != given else (given, named)


def joined(kinds: Mapping[str, str], named: Named) -> dict[str, str]:
    """The kinds of a unit's components by code, those named here added; Invalid when one is of another kind."""
    faults = [
        Fault(field, kind, f"{code} is recorded as {kinds[code]}")
        for code, (field, kind) in named.items()
        if kinds.get(code, kind) != kind
    ]
    if faults:
        raise Invalid(faults)
    return {**kinds, **{code: kind for code, (_, kind) in named.items()}}


def _new(unit: Unit, wanted: Mapping[str, str]) -> tuple[Component, ...]:
    known = unit.kinds
    return tuple(Component(code=code, kind=kind) for code, kind in wanted.items() if code not in known)


def with_components(unit: Unit, wanted: Mapping[str, str]) -> Unit:
    """The unit with the components that a visit would add to it; nothing is stored."""
    return replace(unit, components=(*unit.components, *_new(unit, wanted)))


def register(store: Store, actor: Actor, place: Place, unit: Unit, wanted: Mapping[str, str]) -> Unit:
    """Add the components of a checked visit that the unit does not have yet; the unit with them."""
    new = _new(unit, wanted)
    for position, part in enumerate(new, len(unit.kinds)):
        store.units.add_component(place, part, position=position)
        audit.created(store, actor, "component", f"{place.tag}/{part.code}", {"code": part.code, "kind": part.kind})
    return replace(unit, components=(*unit.components, *new), version=unit.version + len(new)) if new else unit
