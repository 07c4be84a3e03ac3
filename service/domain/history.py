"""A unit's timeline: what happened, when, and which visit told it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

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
)


@dataclass(frozen=True, slots=True)
class Happening:
    """One event; `told` is the visit, its part, the unit or the component. Only a day known: noon UTC of that day."""

    event: str
    at: datetime
    place: tuple[str, str, int, int]
    visit: str | None
    void: bool
    time_zone: str
    told: Any
