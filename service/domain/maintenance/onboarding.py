"""An onboarding plan: the work that a taken-over fleet is behind with, spread over the coming weeks.

Work that is already due is laid in the order of urgency and then of the day by which it must be done, one site's work
of one urgency on one day, on open working days in service, evenly and within the company's hours a day; before all else
that which reaches its longest interval within these weeks. What falls due later keeps its day, or is done earlier where
that day is full. Every date leaves room for what recurs within the weeks of the plan.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import groupby
from math import ceil

from service.domain.maintenance.calendar_days import add_interval, last_open_day
from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.tasks import Interval
from service.domain.record.pauses import back_on

FIRST = ("condenser_clean", "condenser_deep_clean", "glycol_strength_check", "glycol_change", "bath_level_check")
LAST = ("controller_check", "electrical_check")
URGENCY: Mapping[str, int] = {
    task.code: 0 if task.code in FIRST else 2 if task.code in LAST else 1
    for task in CATALOGUE
    if task.interval is not None
}
EVEN = 1.1  # times the mean of a day, so that whole sites fit
_ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """A task at a unit that is due on a day, must be done by `limit`, and recurs after `interval`.

    With `keeps_date` it was done in our care before: it takes its minutes of the plan and gets no first date. `away`
    are the days out of service from the first day of the plan on, as text.
    """

    site: str
    unit: str
    task: str
    minutes: int
    interval: Interval
    due_on: date
    limit: date
    closed: frozenset[int]
    keeps_date: bool = False
    away: str | None = None


@dataclass(frozen=True, slots=True)
class Laid:
    """Work and the day on which it is laid."""

    work: Work
    day: date

    @property
    def beyond_limit(self) -> bool:
        """Whether it cannot be done by its limit."""
        return self.day > self.work.limit


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """The weeks of a plan, the weekdays on which the company works, and the minutes that it works a day."""

    first: date
    last: date
    weekdays: frozenset[int]
    minutes: int

    def days(self, closed: frozenset[int], away: Iterable[str | None] = ()) -> list[date]:
        """The days on which units can be visited: in service and open, days of ours if there are any."""
        all_days = [self.first + timedelta(n) for n in range((self.last - self.first).days + 1)]
        every = [day for day in all_days if all(back_on(each, day) == day for each in away)] or all_days
        both = [day for day in every if day.weekday() in self.weekdays and day.weekday() not in closed]
        return both or [day for day in every if day.weekday() not in closed] or every

    def days_of(self, block: Sequence[Work]) -> list[date]:
        """The days on which a site's work can be done."""
        return self.days(block[0].closed, {work.away for work in block})


@dataclass(slots=True)
class _Calendar:
    """Minutes laid on each day, recurring work included."""

    span: Span
    load: dict[date, int] = field(default_factory=lambda: defaultdict(int))

    def fits(self, block: Sequence[Work], day: date, most: int) -> bool:
        """Whether a block fits on a day, and what recurs after it on its days."""
        added = self._added(block, day)
        recurring = (self.load[on] + minutes <= self.span.minutes for on, minutes in added.items() if on != day)
        return self.load[day] + added[day] <= most and all(recurring)

    def put(self, block: Sequence[Work], day: date) -> list[Laid]:
        """Lay a block on a day."""
        for on, minutes in self._added(block, day).items():
            self.load[on] += minutes
        return [Laid(work, day) for work in block]

    def _added(self, block: Sequence[Work], day: date) -> dict[date, int]:
        added: dict[date, int] = defaultdict(int)
        for work in block:
            for on in _recurrences(work, day, self.span.last):
                added[on] += work.minutes
        return added


def _recurrences(work: Work, day: date, last: date) -> Iterator[date]:
    """The day and those on which the work falls due again if it is always done on its day."""
    while day <= last:
        yield day
        following = last_open_day(add_interval(day, work.interval), work.closed)
        returned = back_on(work.away, following if following > day else day + _ONE_DAY)
        if returned is None:
            return
        day = returned


def lay(works: Sequence[Work], span: Span) -> tuple[tuple[Laid, ...], tuple[Work, ...]]:
    """The work laid on days, in the order of the days, and the work for which there is no room.

    What has no room before its unit goes out of our care keeps its date.
    """
    calendar = _Calendar(span)
    behind = [work for work in works if work.due_on <= span.first]
    ahead = sorted((w for w in works if span.first < w.due_on <= span.last), key=lambda w: (w.due_on, w.site, w.unit))
    laid, left = [], []
    for (due_on, _), group in groupby(ahead, key=lambda work: (work.due_on, work.site)):
        block = list(group)
        days = [day for day in reversed(span.days_of(block)) if day < due_on]
        day = next((day for day in (due_on, *days) if calendar.fits(block, day, span.minutes)), due_on)
        laid += calendar.put(block, day)
    even = _even(behind, span, calendar)
    for block in sorted(_blocks(behind, span.minutes), key=lambda block: _rank(block, span)):
        best = _best_day(block, span, calendar, even)
        if best is not None:
            laid += calendar.put(block, best)
        elif back_on(block[0].away, span.last) is not None:  # else it ends in these weeks: more of them make no room
            left += block
    return tuple(sorted(laid, key=lambda each: (each.day, each.work.site, each.work.unit, each.work.task))), tuple(left)


def _even(behind: Sequence[Work], span: Span, calendar: _Calendar) -> int:
    """The minutes a day at which the work takes all weeks."""
    days = max(len(span.days(frozenset())), 1)
    recurring = sum(work.minutes * sum(1 for _ in _recurrences(work, span.first, span.last)) for work in behind)
    return min(ceil((recurring + sum(calendar.load.values())) / days * EVEN), span.minutes)


def _rank(block: Sequence[Work], span: Span) -> tuple[bool, date, int, date, str]:
    """First what has a limit within the weeks that can still be kept, by that limit; then by urgency and limit."""
    limit = min((work.limit for work in block if work.limit >= span.first), default=date.max)
    can_wait = limit > span.last
    return can_wait, date.max if can_wait else limit, URGENCY[block[0].task], min(w.limit for w in block), block[0].site


def _blocks(behind: Sequence[Work], most: int) -> Iterator[list[Work]]:
    """A site's work of one urgency at units in service on the same days, in parts where it is too much for a day."""
    by_site: dict[tuple[int, str, str | None], list[Work]] = defaultdict(list)
    for work in behind:
        by_site[URGENCY[work.task], work.site, work.away].append(work)
    for own in by_site.values():
        part: list[Work] = []
        for _, group in groupby(sorted(own, key=lambda w: (w.limit, w.unit, w.task)), key=lambda w: w.unit):
            unit = list(group)
            if part and sum(work.minutes for work in [*part, *unit]) > most:
                yield part
                part = []
            part = [*part, *unit]
        yield part


def _best_day(block: Sequence[Work], span: Span, calendar: _Calendar, even: int) -> date | None:
    """The first day with room at an even pace; within the limits that can still be kept, at full hours if need be."""
    days = span.days_of(block)
    limit = min((work.limit for work in block if work.limit >= days[0]), default=span.last)
    even = min(max(even, sum(work.minutes for work in block)), span.minutes)  # a large block takes an empty day
    for most, last in ((even, limit), (span.minutes, limit), (even, span.last), (span.minutes, span.last)):
        for day in days:
            if day <= last and calendar.fits(block, day, most):
                return day
    return None
