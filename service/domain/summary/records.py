"""What the figures of a year are computed from, as plain values."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from service.domain.fleet import Customer, Site, Unit
from service.domain.instants import local_day
from service.domain.planning.calendar_days import add_interval
from service.domain.planning.due import Performed
from service.domain.summary.summary import ReplacementLine, VisitLine
from service.domain.tasks import Interval, Task
from service.domain.visits import Reading

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitRecord:
    """A unit's record: its readings by visit, of the year; everything else from the first day on.

    `versions` names each visit with its version. All is in order of time.
    """

    unit: Unit
    site: Site
    tasks: tuple[Task, ...]
    visits: tuple[VisitLine, ...] = ()
    versions: tuple[tuple[str, int], ...] = ()
    performed: tuple[Performed, ...] = ()
    replacements: tuple[ReplacementLine, ...] = ()
    readings: Mapping[str, tuple[Reading, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class CustomerRecord:
    """A customer's record; `settings` are the shop's own for its tasks, as text."""

    customer: Customer
    units: tuple[UnitRecord, ...]
    settings: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Window:
    """The days looked at: `first` to `last`, both counted in; what was due before `deadline` and undone was missed."""

    first: date
    last: date
    deadline: date

    @property
    def plan_from(self) -> date:
        """The day after the last one looked at."""
        return self.last + ONE_DAY

    @property
    def plan_to(self) -> date:
        """The last day of the year that begins there; from the first of January it is the last of December."""
        return add_interval(self.plan_from, Interval(12, "month")) - ONE_DAY

    def holds(self, day: date) -> bool:
        """Whether the day is looked at."""
        return self.first <= day <= self.last


def window_of(year: int, as_of: datetime, zone: str) -> Window:
    """The year at a site as far as `as_of` saw it: that day itself is looked at, but it is not over."""
    today, new_year = local_day(as_of, zone), date(year + 1, 1, 1)
    return Window(date(year, 1, 1), min(new_year - ONE_DAY, today), min(new_year, today))
