"""PM on time, late and missed by the due date as it stood before each performance; and the plan for what comes."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from service.domain.planning.calendar_days import add_interval, last_open_day
from service.domain.planning.due import Attendance, DueItem, Performed, due_items
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
from service.domain.tasks import Task, parse_interval


def pm_lines(record: UnitRecord, window: Window) -> tuple[PmLine, ...]:
    """Every task done in the window, and every one that was due before its deadline and stayed undone."""
    found = [line for task in record.tasks if task.interval for line in _of_task(record, task, window)]
    return tuple(sorted(found, key=lambda line: (line.done_on or date.max, line.due_on or date.max, line.task)))


def _of_task(record: UnitRecord, task: Task, window: Window) -> Iterator[PmLine]:
    if not task.applies:
        return
    told = [each for each in record.performed if _concerns(each, task) and each.on <= window.last]
    days = sorted({each.on for each in told if each.result != "not_done" and window.holds(each.on)})
    for day in days:
        item = _due(record, task, [each for each in told if each.on < day])
        finds = [each.as_found for each in told if each.on == day and each.as_found]
        yield _done(record, task, item, day, finds[-1] if finds else None)
    deadline = min(window.deadline, record.unit.retired_on or date.max)
    standing = _due(record, task, told)
    if standing.due_on < deadline and deadline > window.first:
        yield _undone(record, task, standing, deadline)


def _concerns(each: Performed, task: Task) -> bool:
    return each.task == task.code or (each.task in task.also_by and each.result == "done")


def _due(record: UnitRecord, task: Task, performed: Sequence[Performed]) -> DueItem:
    return due_items(
        tasks=(task,),
        performed=performed,
        installed_on=record.unit.installed_on,
        registered_on=record.unit.registered_on,
        surroundings=record.site.surroundings,
        closed_weekdays=record.site.closed,
        latest=None,
    )[0]


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


def plan(record: UnitRecord, window: Window) -> tuple[PlanLine, ...]:
    """What comes due in the year after the window, were each task done on its day."""
    if record.unit.retired_on is not None and record.unit.retired_on <= window.last:
        return ()
    items = due_items(
        tasks=record.tasks,
        performed=[each for each in record.performed if each.on <= window.last],
        installed_on=record.unit.installed_on,
        registered_on=record.unit.registered_on,
        surroundings=record.site.surroundings,
        closed_weekdays=record.site.closed,
        latest=_latest(record, window),
    )
    names = {task.code: task.name for task in record.tasks}
    return tuple(
        PlanLine(
            unit=record.unit.tag,
            task=item.task,
            name=names[item.task],
            due_on=tuple(_days(item, record, window)),
            overdue=item.due_on < window.plan_from,
            interval=item.interval,
            why=item.why,
        )
        for item in items
        if item.due_on <= window.plan_to
    )


def _latest(record: UnitRecord, window: Window) -> Attendance | None:
    """Our latest visit that told how it left the unit, as the due dates take it."""
    told = [each for each in record.visits if each.by == "us" and each.outcome is not None and each.on <= window.last]
    return Attendance(told[-1].id, told[-1].on, told[-1].outcome) if told else None


def _days(item: DueItem, record: UnitRecord, window: Window) -> Iterator[date]:
    yield item.due_on
    if item.interval is None:
        return
    anchor, interval, times = max(item.due_on, window.plan_from), parse_interval(item.interval), 1
    while (day := last_open_day(add_interval(anchor, interval, times), record.site.closed)) <= window.plan_to:
        if day > anchor:
            yield day
        times += 1
