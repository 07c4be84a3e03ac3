"""PM on time, late and missed by the due date as it stood before each performance; and the plan for what comes."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import lru_cache

from service.domain.condition.foreseen import foreseen_by
from service.domain.instants import end_of_day
from service.domain.maintenance.calendar_days import add_interval, first_day_in_service, last_open_day
from service.domain.maintenance.due import DueItem, LatestOutcome, due_items, latest_of
from service.domain.maintenance.foreseen import Foreseen
from service.domain.maintenance.interval_words import in_words
from service.domain.maintenance.tasks import AS_FOUND, CONDITION, Task, parse_interval
from service.domain.messages import gettext, term
from service.domain.record.care import Care
from service.domain.record.pauses import Span, span_at
from service.domain.record.unit_log import Performed, UnitLog
from service.domain.summary.lines import (
    CLEANINGS,
    FIRST,
    LATE,
    MISSED,
    NEVER,
    ON_TIME,
    PM_STATES,
    PlanLine,
    PmCount,
    PmLine,
)
from service.domain.summary.settings import UnitTasks
from service.domain.summary.unit_record import Cut
from service.domain.summary.window import Window

interval_of = lru_cache(maxsize=1024)(parse_interval)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What stood due at a unit at the end of a window, and what says when it is overdue and due again.

    `names` are those of all tasks by code, `repeated` the tasks with an interval. What rests on work before the unit
    was moved in, `since`, does not say which. `cleans` is whether cleaning the condenser was one of our tasks there.
    """

    unit: str
    items: tuple[DueItem, ...]
    names: Mapping[str, str]
    repeated: tuple[str, ...]
    closed: frozenset[int]
    away: tuple[Span, ...]
    out_from: date | None
    since: date | None
    cleans: bool

    def deadline(self, window: Window) -> date:
        """What was due before it and not done is missed."""
        return min(window.deadline, self.out_from or date.max)


def standing(cut: Cut, window: Window, *, since: date | None = None, worded: bool = True) -> Standing:
    """The same from the record up to the window's end."""
    tasks, care, day = cut.tasks, cut.care, _deadline(cut, window)
    return Standing(
        unit=cut.log.unit.tag,
        items=due_at_end(cut, window, worded=worded),
        names={task.code: task.name for task in tasks.tasks},
        repeated=tuple(task.code for task in tasks.tasks if task.interval),
        closed=cut.log.site.closed,
        away=care.known_before(window.plan_from).away,
        out_from=care.out_from,
        since=since,
        cleans=any(tasks.on(task, day).applies for task in tasks.tasks if task.code in CLEANINGS),
    )


def due_at_end(cut: Cut, window: Window, *, worded: bool = True) -> tuple[DueItem, ...]:
    """What was due at the end of the window, by the settings and facts then in force."""
    log, tasks, day = cut.dated, cut.tasks, _deadline(cut, window)
    then = [tasks.on(task, day) for task in tasks.tasks]
    done = [each for each in cut.performed if each.on <= window.last]
    ended = log.as_of(end_of_day(window.last, log.time_zone))
    log, ended = log.facts_on(day), ended.facts_on(day)
    care = cut.care.known_before(window.plan_from)
    learned = tasks.learned(_begin(day, log.time_zone))
    return _due(log, then, done, latest_of(ended), care, foreseen_by(ended, then, learned), worded=worded)


def pm_lines(cut: Cut, window: Window, stood: Standing, *, worded: bool = True) -> tuple[PmLine, ...]:
    """Every task done in the window, and every one due before its deadline and not done, as it `stood` at the end.

    Where they are not `worded` no line says why it was due, for those who only count.
    """
    past: dict[str, list[Performed]] = {}
    for each in cut.performed:
        past.setdefault(each.task, []).append(each)
    repeated = [task for task in cut.tasks.tasks if task.interval]
    found = [line for task in repeated for line in _all_done(cut, task, _past(task, past), window, worded)]
    done = sorted(found, key=lambda line: (line.done_on or date.max, line.due_on or date.max, line.task))
    return (*done, *undone(stood, window))


def undone(stood: Standing, window: Window) -> tuple[PmLine, ...]:
    """Every task due before the deadline of a window and not done."""
    deadline = stood.deadline(window)
    if deadline <= window.first:
        return ()
    late = (item for item in stood.items if item.due_on < deadline and item.task in stood.repeated)
    return tuple(sorted((_undone(stood, item, deadline) for item in late), key=lambda line: (line.due_on, line.task)))


def _deadline(cut: Cut, window: Window) -> date:
    return min(window.deadline, cut.care.out_from or date.max)


def _past(task: Task, past: Mapping[str, Sequence[Performed]]) -> list[Performed]:
    larger = (each for code in task.also_by for each in past.get(code, ()) if each.result == "done")
    return [*past.get(task.code, ()), *larger]


def _all_done(cut: Cut, task: Task, past: Sequence[Performed], window: Window, worded: bool) -> Iterator[PmLine]:
    """The task's days in the window, each judged by the record before it and the settings and facts of that day."""
    for day in sorted({each.on for each in past if each.result != "not_done" and window.holds(each.on)}):
        then = cut.tasks.on(task, day)
        if then.applies:
            before, log = [each for each in past if each.on < day], cut.dated.facts_on(day)
            foreseen = _foreseen(log, then, day, cut.tasks)
            (item,) = _due(log, (then,), before, None, cut.care.judged_on(day), foreseen, worded=worded)
            grades = [each.as_found for each in past if each.on == day and each.as_found and each.result != "not_done"]
            yield _done(log, then, item, day, max(grades, key=AS_FOUND.index, default=None))


def _due(  # noqa: PLR0913 - what they follow from
    log: UnitLog,
    tasks: Sequence[Task],
    performed: Sequence[Performed],
    latest: LatestOutcome | None,
    care: Care,
    foreseen: Foreseen,
    *,
    worded: bool,
) -> tuple[DueItem, ...]:
    """The due items by what was known of its care."""
    return due_items(
        tasks=tasks,
        performed=performed,
        installed_on=log.unit.installed_on,
        registered_on=log.unit.registered_on,
        surroundings=log.site.surroundings,
        closed_weekdays=log.site.closed,
        latest=latest,
        care=care,
        foreseen=foreseen,
        worded=worded,
    )


def _foreseen(log: UnitLog, task: Task, day: date, tasks: UnitTasks) -> Foreseen:
    """What was foreseen of a task before a day began, by the figures then in force."""
    begin = _begin(day, log.time_zone)
    if task.rule != CONDITION:
        return Foreseen(tasks.learned(begin).fouling)
    return foreseen_by(log.as_of(begin), (task,), tasks.learned(begin))


def _begin(day: date, zone: str) -> datetime:
    """The last instant of the day before."""
    return end_of_day(day - timedelta(days=1), zone)


def _done(log: UnitLog, task: Task, item: DueItem, day: date, found: str | None) -> PmLine:
    late = None if item.last_done_on is None else (day - item.due_on).days
    return PmLine(
        unit=log.unit.tag,
        task=task.code,
        name=term(task.name),
        due_on=None if late is None else item.due_on,
        done_on=day,
        state=FIRST if late is None else LATE if late > 0 else ON_TIME,
        days_late=None if late is None else max(late, 0),
        as_found=found,
        interval=_interval(item.interval),
        why=None if late is None else item.why,
    )


def _undone(stood: Standing, item: DueItem, deadline: date) -> PmLine:
    never = item.last_done_on is None
    return PmLine(
        unit=stood.unit,
        task=item.task,
        name=term(stood.names[item.task]),
        due_on=item.due_on,
        done_on=None,
        state=NEVER if never else MISSED,
        days_late=(deadline - item.due_on).days,
        as_found=None,
        interval=_interval(item.interval),
        why=item.why,
    )


def pm_count(states: Mapping[str, int]) -> PmCount:
    """The count of each state, with the share on time of those that had a due date."""
    count = {state: states.get(state, 0) for state in PM_STATES}
    judged = count[ON_TIME] + count[LATE] + count[MISSED] + count[NEVER]
    return PmCount(**count, share_on_time=count[ON_TIME] / judged if judged else None)


def plan(stood: Standing, window: Window) -> tuple[PlanLine, ...]:
    """What comes due in the year after the window if each task is done on its day."""
    if stood.out_from is not None and stood.out_from <= window.last:
        return ()
    first, last, since = window.plan_from, window.plan_to, stood.since
    return tuple(
        PlanLine(
            unit=stood.unit,
            task=item.task,
            name=term(stood.names[item.task]),
            due_on=tuple(_days(item, stood.closed, stood.away, first, last)),
            overdue=item.due_on < first,
            interval=_interval(item.interval),
            why=item.why if since is None or (item.last_done_on or date.min) >= since else _before(since),
        )
        for item in stood.items
        if item.due_on <= last
    )


def _interval(text: str | None) -> str | None:
    if text is None:
        return None
    return in_words(interval_of(text))


def _before(since: date) -> str:
    return gettext("Counted from the unit's record before it was moved here on {day}.", day=since)


def _days(item: DueItem, closed: frozenset[int], away: Sequence[Span], first: date, last: date) -> Iterator[date]:
    yield item.due_on
    if item.interval is None:
        return
    anchor, interval, times = max(item.due_on, first), interval_of(item.interval), 1
    while (day := _planned(add_interval(anchor, interval, times), closed, away)) is not None and day <= last:
        if day > anchor:
            yield day
        times += 1


def _planned(day: date, closed: frozenset[int], away: Sequence[Span]) -> date | None:
    """The last open day before; out of service the first open day after, None where that is not known."""
    if not away and day.weekday() not in closed:
        return day
    if span_at(away, day) is None and span_at(away, before := last_open_day(day, closed)) is None:
        return before
    return first_day_in_service(day, closed, away)
