"""What the figures of a year are computed from, as plain values."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from service.domain.instants import local_day
from service.domain.maintenance.calendar_days import add_interval
from service.domain.maintenance.due import Performed
from service.domain.maintenance.tasks import AS_FOUND, Interval, Task
from service.domain.record.fleet import Customer, Site, Unit
from service.domain.root_causes.life_cycle import RootCause
from service.domain.summary.summary import ReadingLine, ReplacementLine, VisitLine

ONE_DAY = timedelta(days=1)
CLEANINGS = ("condenser_clean", "condenser_deep_clean")


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitRecord:
    """A unit's record: its readings by visit, of the year; everything else from the first day on.

    `former` holds by task how it was set before, each with the last day on which it was, the oldest first. `versions`
    names each visit with its version, `finds` the condenser as it was found by visit. All is in order of time.
    """

    unit: Unit
    site: Site
    tasks: tuple[Task, ...]
    former: Mapping[str, tuple[tuple[date, Task], ...]] = field(default_factory=dict)
    visits: tuple[VisitLine, ...] = ()
    versions: tuple[tuple[str, int], ...] = ()
    performed: tuple[Performed, ...] = ()
    finds: Mapping[str, str] = field(default_factory=dict)
    replacements: tuple[ReplacementLine, ...] = ()
    readings: Mapping[str, tuple[ReadingLine, ...]]
    cases: tuple[RootCause, ...] = ()

    def task_on(self, task: Task, day: date) -> Task:
        """The task as it was set when that day began."""
        return next((then for last, then in self.former.get(task.code, ()) if day <= last), task)


def found_at(told: Iterable[tuple[str, Performed]]) -> dict[str, str]:
    """The condenser as it was found at each visit; of several finds the worst."""
    found: dict[str, str] = {}
    for visit, each in told:
        if each.task in CLEANINGS and each.as_found is not None:
            found[visit] = max(found.get(visit, AS_FOUND[0]), each.as_found, key=AS_FOUND.index)
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class CustomerRecord:
    """A customer's record."""

    customer: Customer
    units: tuple[UnitRecord, ...]


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
