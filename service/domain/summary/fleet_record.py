"""What a fleet's year is counted from: a unit's record with its place in the fleet, and what of it is watched.

A unit is watched from its installation, or, where our record begins later, from the day after it began. What led to
the record on its first day is left out, because the unit would not be on record without it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from service.domain.summary.lines import ReplacementLine, VisitLine
from service.domain.summary.records import UnitRecord, Window

YEAR_DAYS = 365.25
REPAIRS = ("service_call", "follow_up")
FAILED = "failed"


@dataclass(frozen=True, slots=True, kw_only=True)
class FleetUnit:
    """A unit's record, and whose it is."""

    record: UnitRecord
    customer: str
    customer_name: str

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds of its components, those taken out included."""
        return tuple(dict.fromkeys(part.kind for part in self.record.unit.components))


@dataclass(frozen=True, slots=True)
class Life:
    """Days as ordinals: age counts from `origin`; watched after `after` and up to `until`, that day counted in."""

    origin: int
    after: int
    until: int
    from_installation: bool

    def age(self, day: date) -> int:
        """Days since the origin."""
        return day.toordinal() - self.origin

    def watches(self, day: date) -> bool:
        """Whether the unit was watched on that day."""
        return self.after < day.toordinal() <= self.until

    def years(self, first: date, last: date) -> float:
        """Years watched from the first to the last day, both counted in."""
        days = min(self.until, last.toordinal()) - max(self.after, first.toordinal() - 1)
        return max(days, 0) / YEAR_DAYS


def life_of(record: UnitRecord, window: Window) -> Life:
    """What of a unit's life is watched up to the window's end."""
    unit = record.unit
    ours = next((visit.on for visit in record.visits if visit.by == "us"), date.max)
    begun = min(unit.registered_on, ours)
    until = min(window.last, unit.retired_on or date.max).toordinal()
    installed = unit.installed_on
    if installed is not None and installed >= begun:
        return Life(installed.toordinal(), installed.toordinal() - 1, until, from_installation=True)
    return Life((installed or begun).toordinal(), begun.toordinal(), until, from_installation=False)


@dataclass(frozen=True, slots=True)
class Cost:
    """Visits, those of them to repair, seconds on site as far as noted, and visits whose end was not noted."""

    visits: int = 0
    repairs: int = 0
    seconds: float = 0.0
    without_end: int = 0

    def plus(self, other: "Cost") -> "Cost":
        """Both together."""
        return Cost(
            self.visits + other.visits,
            self.repairs + other.repairs,
            self.seconds + other.seconds,
            self.without_end + other.without_end,
        )


NOTHING = Cost()


def cost_of(visit: VisitLine) -> Cost:
    """What one visit takes."""
    seconds = 0.0 if visit.left_at is None else (visit.left_at - visit.arrived_at).total_seconds()
    return Cost(1, int(visit.kind in REPAIRS), seconds, int(visit.left_at is None))


def add_to(costs: dict[str, Cost], key: str, cost: Cost) -> None:
    """Add a cost under a key."""
    costs[key] = costs.get(key, NOTHING).plus(cost)


def put_in_at(visits: Mapping[str, VisitLine], line: ReplacementLine) -> VisitLine | None:
    """The visit of ours at which an item was put in; None for what was only reported, of another day or by others."""
    visit = visits.get(line.visit)
    return visit if visit is not None and visit.on == line.on and line.by == "us" else None


def counts_in(record: UnitRecord, window: Window) -> bool:
    """Whether the unit was in service on some day of the window, or visited or given a new item in it."""
    unit = record.unit
    stood = (unit.installed_on or date.min) <= window.last and (unit.retired_on or date.max) >= window.first
    days = [*(each.on for each in record.visits), *(each.on for each in record.replacements)]
    return stood or any(window.holds(day) for day in days)
