"""Tell all that happened at a unit as one timeline."""

from collections.abc import Mapping
from typing import Any

from service.domain.fleet import Unit
from service.domain.history import Happening, noon_at
from service.domain.instants import from_text
from service.domain.visits import Visit
from service.storage.history import Position
from service.storage.store import Store

PARTS = {"reading": "readings", "task": "tasks", "replacement": "replacements", "observation": "observations"}


def happenings(store: Store, tag: str, *, after: Position | None, limit: int) -> list[Happening]:
    """The unit's next events behind one, newest first; NotFound when there is no such unit."""
    place = store.units.place(tag)
    positions = store.timeline.positions(place.id, noon_at(place.time_zone), after=after, limit=limit)
    visits = store.visits.by_identity({position[2] for position in positions if position[2]})
    unit = store.units.get(tag)
    return [_happening(position, visits, unit, place.time_zone) for position in positions]


def _happening(position: Position, visits: Mapping[int, Visit], unit: Unit, zone: str) -> Happening:
    moment, event, visit_id, number = position
    visit = visits.get(visit_id)
    return Happening(
        event=event,
        at=from_text(moment),
        place=position,
        visit=visit.id if visit else None,
        void=visit is not None and visit.void is not None,
        time_zone=zone,
        told=_told(event, number, visit, unit),
    )


def _told(event: str, number: int, visit: Visit | None, unit: Unit) -> Any:
    if event in PARTS:
        return getattr(visit, PARTS[event])[number]
    if event == "visit":
        return visit
    return unit.components[number] if event.startswith("component") else unit
