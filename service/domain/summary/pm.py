"""PM on time, late and missed by the due date as it stood before each performance; and the plan for what comes."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import lru_cache

from service.domain.maintenance.calendar_days import add_interval, last_open_day
from service.domain.maintenance.due import DueItem, LatestOutcome, due_items
from service.domain.maintenance.tasks import AS_FOUND, Task, parse_interval
from service.domain.record.unit_log import Performed
from service.domain.summary.records import UnitRecord, Window
from service.domain.summary.summary import (
    FIRST,
    LATE,
    MISSED,
    NEVER,
    ON_TIME,
    PlanLine,
    PmCount,
    PmLine,
)

interval_of = lru_cache(maxsize=1024)(parse_interval)


def standing(record: UnitRecord, window: Window) -> tuple[DueItem, ...]:
    """What was due at the end of the window, by the settings that held then."""
    day = _deadline(record, window)
    tasks = tuple(record.task_on(task, day) for task in record.tasks)
    known = [each for each in record.performed if each.on <= window.last]
    return _due(record, tasks, known, _latest(record, window))


def pm_lines(record: UnitRecord, window: Window) -> tuple[PmLine, ...]:
    """Every task done in the window, and every one that was due before its deadline and stayed undone."""
    return judged(record, window, standing(record, window))


def judged(record: UnitRecord, window: Window, due: Iterable[DueItem]) -> tuple[PmLine, ...]:
    """As `pm_lines`, where what is `standing` is known already."""
    tasks = {task.code: task for task in record.tasks if task.interval}
    told: dict[str, list[Performed]] = {}
    for each in record.performed:
        told.setdefault(each.task, []).append(each)
    found = [line for task in tasks.values() for line in _all_done(record, task, _past(task, told), window)]
    deadline = _deadline(record, window)
    if deadline > window.first:
        late = (item for item in due if item.task in tasks and item.due_on < deadline)
        found += [_undone(record, tasks[item.task], item, deadline) for item in late]
    return tuple(sorted(found, key=lambda line: (line.done_on or date.max, line.due_on or date.max, line.task)))


def _deadline(record: UnitRecord, window: Window) -> date:
    return min(window.deadline, record.unit.retired_on or date.max)


def _past(task: Task, told: Mapping[str, Sequence[Performed]]) -> list[Performed]:
    larger = (each for code in task.also_by for each in told.get(code, ()) if each.result == "done")
    return [*told.get(task.code, ()), *larger]


def _all_done(record: UnitRecord, task: Task, told: Sequence[Performed], window: Window) -> Iterator[PmLine]:
    """The task's days in the window, each judged by what was recorded before that day and the settings of that day."""
    for day in sorted({each.on for each in told if each.result != "not_done" and window.holds(each.on)}):
        then = record.task_on(task, day)
        if then.applies:
            (item,) = _due(record, (then,), [each for each in told if each.on < day], None)
            finds = [each.as_found for each in told if each.on == day and each.as_found and each.result != "not_done"]
            yield _done(record, then, item, day, max(finds, key=AS_FOUND.index, default=None))


def _due(
    record: UnitRecord, tasks: Sequence[Task], performed: Sequence[Performed], latest: LatestOutcome | None
) -> tuple[DueItem, ...]:
    return due_items(
        tasks=tasks,
        performed=performed,
        installed_on=record.unit.installed_on,
        registered_on=record.unit.registered_on,
        surroundings=record.site.surroundings,
        closed_weekdays=record.site.closed,
        latest=latest,
    )


def _done(record: UnitRecord, task: Task, item: DueItem, day: date, found: str | None) -> PmLine:
    late = None if item.basis == "first_visit" else (day - item.due_on).days
    return PmLine(
        unit=record.unit.tag,
        task=task.code,
        name=task.name,
        due_on=None if late is None else item.due_on,
        done_on=day,
        state=FIRST if late is None else LATE if late > 0 else ON_TIME,
        days_late=None if late is None else max(late, 0),
        as_found=found,
    )


def _undone(record: UnitRecord, task: Task, item: DueItem, deadline: date) -> PmLine:
    never = item.basis == "first_visit"
    return PmLine(
        unit=record.unit.tag,
        task=task.code,
        name=task.name,
        due_on=item.due_on,
        done_on=None,
        state=NEVER if never else MISSED,
        days_late=None if never else (deadline - item.due_on).days,
        as_found=None,
    )


def pm_count(lines: Iterable[PmLine]) -> PmCount:
    """How many lines in each state; the share is of those that could be judged."""
    states = [line.state for line in lines]
    on_time, late, missed = (states.count(state) for state in (ON_TIME, LATE, MISSED))
    judged = on_time + late + missed
    return PmCount(
        on_time=on_time,
        late=late,
        missed=missed,
        first=states.count(FIRST),
        never_recorded=states.count(NEVER),
        share_on_time=on_time / judged if judged else None,
    )


def plan(record: UnitRecord, window: Window, due: Iterable[DueItem]) -> tuple[PlanLine, ...]:
    """What comes due in the year after the window, were each task done on its day, from what is `standing`."""
    if record.unit.retired_on is not None and record.unit.retired_on <= window.last:
        return ()
    names = {task.code: task.name for task in record.tasks}
    closed, last = record.site.closed, window.plan_to
    return tuple(
        PlanLine(
            unit=record.unit.tag,
            task=item.task,
            name=names[item.task],
            due_on=tuple(_days(item, closed, window.plan_from, last)),
            overdue=item.due_on < window.plan_from,
            interval=item.interval,
            why=item.why,
        )
        for item in due
        if item.due_on <= last
    )


def _latest(record: UnitRecord, window: Window) -> LatestOutcome | None:
    """Our latest visit that told how it left the unit, as the due dates take it."""
    told = [each for each in record.visits if each.by == "us" and each.outcome is not None and each.on <= window.last]
    return LatestOutcome(told[-1].id, told[-1].on, told[-1].outcome) if told else None


def _days(item: DueItem, closed: frozenset[int], first: date, last: date) -> Iterator[date]:
    yield item.due_on
    if item.interval is None:
        return
    anchor, interval, times = max(item.due_on, first), interval_of(item.interval), 1
    while (day := last_open_day(add_interval(anchor, interval, times), closed)) <= last:
        if day > anchor:
            yield day
        times += 1
