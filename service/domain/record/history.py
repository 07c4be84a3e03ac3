"""A unit's timeline: what happened, when, and which visit told it."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from service.domain.instants import zone

EVENTS = (
    "visit",
    "reading",
    "task",
    "replacement",
    "observation",
    "unit_installed",
    "unit_retired",
    "component_installed",
    "component_removed",
    "root_cause_seen",
    "root_cause_decided",
)


@dataclass(frozen=True, slots=True)
class Happening:
    """One event; `told` is the visit, its part, the unit, component or case. Only a day known: about noon there."""

    event: str
    at: datetime
    place: tuple[str, str, int, int]
    visit: str | None
    void: bool
    time_zone: str
    told: Any


def noon_at(zone_name: str) -> str:
    """The time of day in UTC when it is noon in a time zone, or as near to that as has the same date there as in UTC.

    >>> [noon_at(name) for name in ("America/Denver", "Pacific/Kiritimati", "Etc/GMT+12")]
    ['T19:00:00.000000Z', 'T00:00:00.000000Z', 'T23:59:00.000000Z']
    """
    # The year hardly matters: no place has crossed the date line since 2011.
    offset = zone(zone_name).utcoffset(datetime(2026, 1, 1)) or timedelta()  # noqa: DTZ001 - by the zone's own clock
    hours, minutes = divmod(min(max(12 * 60 - offset // timedelta(minutes=1), 0), 24 * 60 - 1), 60)
    return f"T{hours:02}:{minutes:02}:00.000000Z"
