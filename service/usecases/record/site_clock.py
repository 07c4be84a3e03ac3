"""Times without offset by the clock of the site where a unit stood."""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from service.domain.instants import zone
from service.domain.record.local_times import by_clock, has_local, text_by_clock
from service.domain.record.visits import Visit
from service.storage.places import Place
from service.storage.store import Store

Given = tuple[Mapping[str, Any], str]


def of_visit(store: Store, place: Place, given: Mapping[str, Any], text: str) -> Given:
    """The body of a new visit to a unit, and its text, with instants alone; Invalid with each time that is none."""
    if not has_local(given):
        return given, text
    name = clock_at(store, place, given["arrived_at"])
    return by_clock(given, name), text_by_clock(text, given, name)


def of_unstored(store: Store, place: Place, given: Mapping[str, Any]) -> Mapping[str, Any]:
    """The body of a visit that is not stored, with instants alone."""
    return by_clock(given, clock_at(store, place, given["arrived_at"])) if has_local(given) else given


def of_correction(store: Store, former: Visit, changes: Mapping[str, Any], text: str) -> Given:
    """The same of what is corrected of a visit."""
    if not has_local(changes):
        return changes, text
    arrived = changes.get("arrived_at", former.arrived_at)
    name = clock_at(store, store.units.place(former.unit), arrived)
    return by_clock(changes, name), text_by_clock(text, changes, name)


def clock_at(store: Store, place: Place, at: datetime) -> str:
    """The time zone where a unit stood at an instant, or at a time of the clock there."""
    name = place.time_zone
    for _ in range(1 if at.tzinfo else 2):  # a unit that came from another time zone: the second look is by its clock
        instant = at if at.tzinfo else at.replace(tzinfo=zone(name)).astimezone(UTC)
        name = store.locations.place_at(place, instant).time_zone
    return name
