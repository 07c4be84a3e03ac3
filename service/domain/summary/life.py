"""Which days of a unit's life count towards failure rates.

A unit counts from its installation or, where our record begins later, from the day after that: a failure that brought
the unit to us would otherwise count against it, and units without one are never recorded.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from service.domain.record.fleet import Unit
from service.domain.record.visits import Visit
from service.domain.summary.window import Window

YEAR_DAYS = 365.25


@dataclass(frozen=True, slots=True)
class Life:
    """Days as ordinals: age counts from `origin`; days after `after` and up to and including `until` are watched."""

    origin: int
    after: int
    until: int
    from_installation: bool

    def age(self, day: date) -> int:
        """Days since the origin."""
        return day.toordinal() - self.origin

    def watches(self, day: date) -> bool:
        """Whether that day is watched."""
        return self.after < day.toordinal() <= self.until

    def years(self, first: date, last: date) -> float:
        """Years watched from the first to the last day, both included."""
        days = min(self.until, last.toordinal()) - max(self.after, first.toordinal() - 1)
        return max(days, 0) / YEAR_DAYS


def life_of(unit: Unit, visits: Sequence[Visit], window: Window) -> Life:
    """What of a unit's life is watched up to the window's end; `visits` by arrival."""
    ours = next((visit.day for visit in visits if visit.by == "us"), date.max)
    begun = min(unit.registered_on, ours)
    until = min(window.last, unit.retired_on or date.max).toordinal()
    installed = unit.installed_on
    if installed is not None and installed >= begun:
        return Life(installed.toordinal(), installed.toordinal() - 1, until, from_installation=True)
    return Life((installed or begun).toordinal(), begun.toordinal(), until, from_installation=False)
