"""The days of a year that have passed at a site."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from service.domain.instants import local_day
from service.domain.maintenance.calendar_days import add_interval
from service.domain.maintenance.tasks import Interval

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Window:
    """The days `first` to `last`, both included; what was due before `deadline` and not done by then is missed."""

    first: date
    last: date
    deadline: date

    @property
    def plan_from(self) -> date:
        """The day after the last one."""
        return self.last + ONE_DAY

    @property
    def plan_to(self) -> date:
        """The last day of the twelve months that begin there."""
        return add_interval(self.plan_from, Interval(12, "month")) - ONE_DAY

    def within(self, first: date | None, last: date | None) -> "Window":
        """The part of it from one day to another, both included; what is over on that day has its deadline after it."""
        begins = self.first if first is None else max(self.first, first)
        if last is None or last > self.last:
            return Window(begins, self.last, self.deadline)
        return Window(begins, last, min(self.deadline, last + ONE_DAY))

    def by_end(self, day: date | None) -> date | None:
        """The day if it has come by the last one, else None: what ends later does not change these days."""
        return day if day is not None and day <= self.last else None

    def holds(self, day: date) -> bool:
        """Whether the day is in the window."""
        return self.first <= day <= self.last


def window_of(year: int, as_of: datetime, zone: str) -> Window:
    """The year at a site up to the day of `as_of`; that day is included, but it is not over."""
    today, new_year = local_day(as_of, zone), date(year + 1, 1, 1)
    return Window(date(year, 1, 1), min(new_year - ONE_DAY, today), min(new_year, today))
