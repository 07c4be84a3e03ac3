"""Tell all that happened at a unit as one timeline."""

from collections.abc import Mapping
from typing import Any

from service.domain.instants import from_text
from service.domain.record.fleet import Unit
from service.domain.record.history import Happening, noon_at
from service.domain.record.visits import Visit
from service.domain.root_causes.life_cycle import RootCause
from service.storage.history import Position
from service.storage.store import Store

PARTS = {"reading": "readings", "task": "tasks", "replacement": "replacements", "observation": "observations"}


def timeline(store: Store, tag: str, *, after: Position | None, limit: int) -> list[Happening]:
    """The unit's next events behind one, newest first; NotFound when there is no such unit."""
    place = store.units.place(tag)
    positions = store.timeline.positions(place.id, noon_at(place.time_zone), after=after, limit=limit)
    visits = store.visits.by_identity({position[2] for position in positions if position[2]})
    unit = store.units.get(tag)
    causes = {cause.id: cause for cause in store.root_causes.at(place.id).values()}
    return [
        _event(each, visits.get(each[2]), _recorded(each, visits.get(each[2]), unit, causes), place.time_zone)
        for each in positions
    ]


def _event(position: Position, visit: Visit | None, recorded: Any, zone: str) -> Happening:
    moment, event, _, _ = position
    return Happening(
        event=event,
        at=from_text(moment),
        place=position,
        visit=visit.id if visit else None,
        void=visit is not None and visit.void is not None,
        time_zone=zone,
        told=recorded,
    )


def _recorded(position: Position, visit: Visit | None, unit: Unit, causes: Mapping[int, RootCause]) -> Any:
    _, event, _, number = position
    if event in PARTS:
        return getattr(visit, PARTS[event])[number]
    if event == "visit":
        return visit
    if event.startswith("root_cause"):
        return _root_cause(event, causes[number])
    return unit.components[number] if event.startswith("component") else unit


def _root_cause(event: str, cause: RootCause) -> dict[str, Any]:
    """A root cause in the timeline: which, and what was decided; its figures, which change, are in the root cause itself."""
    entry = {"id": cause.id, "component_kind": cause.kind}
    if event == "root_cause_seen":
        return entry | {"tier": cause.tier}
    return entry | {"state": cause.returned_from or cause.state, "by": cause.decided_by, "note": cause.why}
