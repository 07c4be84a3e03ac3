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
    cases = {case.id: case for case in store.root_causes.at(place.id).values()}
    return [
        _happening(each, visits.get(each[2]), _recorded(each, visits.get(each[2]), unit, cases), place.time_zone)
        for each in positions
    ]


def _happening(position: Position, visit: Visit | None, told: Any, zone: str) -> Happening:
    moment, event, _, _ = position
    return Happening(
        event=event,
        at=from_text(moment),
        place=position,
        visit=visit.id if visit else None,
        void=visit is not None and visit.void is not None,
        time_zone=zone,
        told=told,
    )


def _recorded(position: Position, visit: Visit | None, unit: Unit, cases: Mapping[int, RootCause]) -> Any:
    _, event, _, number = position
    if event in PARTS:
        return getattr(visit, PARTS[event])[number]
    if event == "visit":
        return visit
    if event.startswith("root_cause"):
        return _case(event, cases[number])
    return unit.components[number] if event.startswith("component") else unit


def _case(event: str, case: RootCause) -> dict[str, Any]:
    """A case in the timeline: which, and what was decided; its figures, which change, are in the case itself."""
    told = {"id": case.id, "component_kind": case.kind}
    if event == "root_cause_seen":
        return told | {"tier": case.tier}
    return told | {"state": case.returned_from or case.state, "by": case.decided_by, "note": case.why}
