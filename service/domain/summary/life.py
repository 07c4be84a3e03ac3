"""Which days of a unit's life count towards failure rates.

A unit counts from its installation or, where our record begins later, from the day after that: a failure that brought
the unit to us would otherwise count against it, and units without one are never recorded. Days out of service, of a
pause or while its site is closed, do not count.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from service.domain.record.fleet import Unit
from service.domain.record.pauses import Span, merged
from service.domain.record.visits import Visit
from service.domain.summary.window import Window

YEAR_DAYS = 365.25


@dataclass(frozen=True, slots=True)
class Life:
    """Days as ordinals: age counts from `origin`; days after `after` and up to and including `until` are watched.

    Not so the days of `away`, first and last ones, which do not overlap.
    """

    origin: int
    after: int
    until: int
    from_installation: bool
    away: tuple[tuple[int, int], ...] = ()

    def age(self, day: date) -> int:
        """Days since the origin."""
        return day.toordinal() - self.origin

    def watches(self, day: date) -> bool:
        """Whether that day is watched."""
        number = day.toordinal()
        return self.after < number <= self.until and not any(first <= number <= last for first, last in self.away)

    def years(self, first: date, last: date) -> float:
        """Years watched from the first to the last day, both included."""
        begins, ends = max(self.after + 1, first.toordinal()), min(self.until, last.toordinal())
        spans = [(begins, ends), *((max(out, begins), min(back, ends)) for out, back in self.away)]
        days, *away = (max(end - start + 1, 0) for start, end in spans)
        return (days - sum(away)) / YEAR_DAYS


def life_of(unit: Unit, visits: Sequence[Visit], window: Window, away: Sequence[Span] = ()) -> Life:
    """What of a unit's life is watched up to the window's end; `visits` by arrival, `away` the days out of service."""
    ours = next((visit.day for visit in visits if visit.by == "us"), date.max)
    begun = min(unit.registered_on, ours)
    until = min(window.last, unit.retired_on or date.max).toordinal()
    installed = unit.installed_on
    spans = merged((span.first, span.last) for span in away)
    out = tuple((first.toordinal(), (last or date.max).toordinal()) for first, last in spans)
    if installed is not None and installed >= begun:
        return Life(installed.toordinal(), installed.toordinal() - 1, until, from_installation=True, away=out)
    return Life((installed or begun).toordinal(), begun.toordinal(), until, from_installation=False, away=out)
