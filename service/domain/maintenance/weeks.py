"""The weeks ahead: work against the hours that technicians have, levelled where a week has too much.

A site's work of a week is moved as one to the nearest earlier week with room, behind the one in which it is done
before. Where none has room for all of it, it is split by units, the most urgent first: each is done in its week, in an
earlier one, else in the first later one with room within what each task may wait. What fits nowhere stays in its week:
that is overloaded, or, where its technician does not work in that week at all, it is nobody's.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

from service.domain.maintenance.list_order import Key
from service.domain.record.assignments import away
from service.domain.record.fleet import Technician

WORKING_DAYS = range(5)  # Monday to Friday; common practice, no source
SIXTY = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """Work at a unit: due on a day, it may wait until `limit`; `technician` is None where nobody goes there yet.

    `after` is the day on which it is done before; it is not done again in that week. `overdue` is where overdue
    work stands on the list.
    """

    technician: str | None
    site: str
    unit: str
    task: str
    minutes: int
    due_on: date
    limit: date
    fixed: bool = False
    after: date | None = None
    overdue: Key | None = None


@dataclass(frozen=True, slots=True)
class Moved:
    """Work that is to be done in another week than the one in which it is due; weeks by their first days."""

    work: Planned
    from_week: date
    to_week: date


@dataclass(frozen=True, slots=True)
class Load:
    """The minutes of a technician in a week: there are, fall due, and are planned after levelling."""

    technician: str | None
    available: int
    due: int
    planned: int

    @property
    def overload(self) -> int:
        """The minutes planned beyond those that there are."""
        return max(self.planned - self.available, 0)


@dataclass(frozen=True, slots=True)
class Week:
    """A week of the plan, its first and last day within the plan, and the load of each technician."""

    first: date
    last: date
    loads: tuple[Load, ...]

    @property
    def overload(self) -> int:
        """The minutes planned beyond those that there are."""
        return sum(load.overload for load in self.loads)


def weeks_of(first: date, last: date) -> list[tuple[date, date]]:
    """First and last days of the calendar weeks, Monday to Sunday, cut to a span.

    >>> [str(begin) for begin, _ in weeks_of(date(2026, 6, 10), date(2026, 6, 22))]
    ['2026-06-10', '2026-06-15', '2026-06-22']
    """
    found = []
    while first <= last:
        sunday = first + timedelta(days=6 - first.weekday())
        found.append((first, min(sunday, last)))
        first = sunday + timedelta(days=1)
    return found


def minutes_available(who: Technician, hours: float, first: date, last: date) -> int:
    """The working time of a technician in some days without leave [min]."""
    days = (first + timedelta(days=n) for n in range((last - first).days + 1))
    working = (day for day in days if day.weekday() in WORKING_DAYS and not away(day, who.left_on, who.leave))
    return int(sum(1 for _ in working) * hours * SIXTY)


class _Calendar:
    """The minutes planned and available of one technician by week."""

    def __init__(self, available: Sequence[int]) -> None:
        self.available = available
        self.planned = [0] * len(available)

    def room(self, week: int, minutes: int) -> bool:
        """Whether so many minutes fit."""
        return self.planned[week] + minutes <= self.available[week]


def level(
    works: Iterable[Planned], spans: Sequence[tuple[date, date]], available: Mapping[str, Sequence[int]]
) -> tuple[list[Week], list[Moved]]:
    """The weeks with their loads, and what is to be moved. Work of nobody goes into the hours that are left."""
    by_person: dict[str | None, list[Planned]] = defaultdict(list)
    for work in works:
        by_person[work.technician].append(work)
    calendars: dict[str | None, _Calendar] = {}
    due: dict[str | None, list[int]] = {}
    moved: list[Moved] = []
    people: list[str | None] = [*sorted(available), *sorted({p for p in by_person if p} - available.keys())]
    for person in [*people, None]:
        hours = available.get(person or "", [0] * len(spans)) if person else _spare(calendars.values(), len(spans))
        calendars[person] = _Calendar(hours)
        due[person] = [0] * len(spans)
        handed = None if person is None else by_person[None]
        moved += _lay(by_person[person], spans, calendars[person], due[person], handed)
    return list(_weeks(spans, calendars, due)), moved


def _spare(calendars: Iterable[_Calendar], weeks: int) -> list[int]:
    known = list(calendars)
    return [sum(max(each.available[n] - each.planned[n], 0) for each in known) for n in range(weeks)]


def _lay(
    works: Sequence[Planned],
    spans: Sequence[tuple[date, date]],
    calendar: _Calendar,
    due: list[int],
    handed: list[Planned] | None,
) -> Iterator[Moved]:
    """Lay a technician's work into the weeks; `handed` gets what falls into a week of theirs without any hours."""
    blocks: dict[tuple[int, str, bool], list[Planned]] = defaultdict(list)
    for work in works:
        week = _week_of(spans, work.due_on)
        due[week] += work.minutes
        blocks[week, work.site, work.fixed].append(work)
    order = sorted(
        blocks.items(), key=lambda each: (not each[0][2], each[0][0], _urgency(spans, each[0][0], each[1]), each[0])
    )
    for (week, _, fixed), block in order:
        for part in [block] if fixed else _parts(spans, week, block, calendar):
            minutes = _minutes(part)
            others = [] if fixed else _possible(spans, week, part)
            to = next((n for n in others if calendar.room(n, minutes)), week)
            if to == week and handed is not None and not calendar.available[week]:
                due[week] -= minutes
                handed += [replace(work, technician=None) for work in part]
                continue
            calendar.planned[to] += minutes
            if to != week:
                yield from (Moved(work, spans[week][0], spans[to][0]) for work in part)


def _parts(
    spans: Sequence[tuple[date, date]], week: int, block: list[Planned], calendar: _Calendar
) -> list[list[Planned]]:
    """A site's work of a week whole where it can be done by its week, else by units.

    It stays whole also where it cannot wait and its technician is away all week: then one colleague goes there.
    """
    possible, minutes = _possible(spans, week, block), _minutes(block)
    waits = max(possible) > week
    if any(n <= week and calendar.room(n, minutes) for n in possible) or not (waits or calendar.available[week]):
        return [block]
    units: dict[str, list[Planned]] = defaultdict(list)
    for work in block:
        units[work.unit].append(work)
    return [part for _, part in sorted(units.items(), key=lambda each: (_urgency(spans, week, each[1]), each[0]))]


def _possible(spans: Sequence[tuple[date, date]], week: int, works: Sequence[Planned]) -> list[int]:
    """The weeks in which work of a week may be done together: that one, earlier ones from the nearest, later ones."""
    limit = max(_week_of(spans, min(work.limit for work in works)), week)
    soonest = min(max(_after(spans, work) for work in works), week)
    return [*range(week, soonest - 1, -1), *range(week + 1, limit + 1)]


def _urgency(spans: Sequence[tuple[date, date]], week: int, works: Sequence[Planned]) -> tuple[Any, ...]:
    """What cannot wait beyond its week sorts first, then overdue work as on the list, then what may wait least."""
    limit = min(work.limit for work in works)
    overdue = min((work.overdue for work in works if work.overdue), default=())
    return _week_of(spans, limit) > week, not overdue, overdue, limit


def _minutes(works: Sequence[Planned]) -> int:
    return sum(work.minutes for work in works)


def _after(spans: Sequence[tuple[date, date]], work: Planned) -> int:
    """The week behind the one in which work is done before."""
    return 0 if work.after is None or work.after < spans[0][0] else _week_of(spans, work.after) + 1


def _week_of(spans: Sequence[tuple[date, date]], day: date) -> int:
    return next((n for n, (_, last) in enumerate(spans) if day <= last), len(spans) - 1)


def _weeks(
    spans: Sequence[tuple[date, date]], calendars: Mapping[str | None, _Calendar], due: Mapping[str | None, list[int]]
) -> Iterator[Week]:
    for n, (first, last) in enumerate(spans):
        loads = (
            Load(person, each.available[n], due[person][n], each.planned[n])
            for person, each in calendars.items()
            if person is not None or any(due[None])
        )
        yield Week(first, last, tuple(loads))
