"""Plan the weeks ahead: what falls due, what recurs, open calls, and what was assigned or postponed."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import orjson

from service.domain.errors import Fault, Invalid
from service.domain.instants import LAST_YEAR, local_day
from service.domain.maintenance.calendar_days import add_interval
from service.domain.maintenance.list_order import CALL, CONTAINING, Key, class_of, key_of_item
from service.domain.maintenance.settings import Setting, changed_task
from service.domain.maintenance.tasks import Task, parse_interval
from service.domain.maintenance.weeks import Moved, Planned, Week, level, minutes_available, weeks_of
from service.domain.record.pauses import back_on
from service.storage.due import Listed
from service.storage.store import Store
from service.usecases.maintenance.due import fleet_tasks
from service.usecases.planning.list_items import MINUTES, waiting_calls
from service.usecases.planning.shifts import HOURS, WORK_SHARE
from service.usecases.record.company import zone_of

MOST_DAYS = 366
LAST_DAY = date(LAST_YEAR, 12, 31)
Target = tuple[int, int | None, str | None]


@dataclass(frozen=True, slots=True)
class Weeks:
    """The weeks, what is to be moved, and the technicians of whom no hours are known."""

    weeks: tuple[Week, ...]
    moved: tuple[Moved, ...]
    notes: tuple[str, ...]


def plan_weeks(store: Store, now: datetime, first: date | None, last: date | None) -> Weeks:
    """The weeks from a day (today) to another one (13 weeks on)."""
    who, company = store.technicians.by_id(), store.company.get()
    today = local_day(now, zone_of(store))
    first = first or today
    last = last or min(first + timedelta(weeks=13), LAST_DAY)
    _check(first, last, today)
    spans = weeks_of(first, last)
    known = {
        each.code: company.hours_per_day if each.hours_per_day is None else each.hours_per_day for each in who.values()
    }
    hours = {code: WORK_SHARE * HOURS if each is None else each for code, each in known.items()}
    available = {
        each.code: [minutes_available(each, hours[each.code], *span) for span in spans]
        for each in who.values()
        if each.is_with_us(first)
    }
    codes = {key: each.code for key, each in who.items() if each.code in available}
    plan = _Plan(today, first, last, codes)
    works = [*_once(list(_due(store, plan))), *_calls(store, plan)]
    weeks, moved = level(works, spans, available)
    unknown = sorted(each.name for each in who.values() if each.code in available and known[each.code] is None)
    notes = [
        f"No hours of work are recorded for {name}: {WORK_SHARE * HOURS:g} h a day are assumed." for name in unknown
    ]
    return Weeks(tuple(weeks), tuple(moved), tuple(notes))


def _check(first: date, last: date, today: date) -> None:
    if first < today:
        raise Invalid([Fault("from", first.isoformat(), f"is past; it is {today.isoformat()}")])
    if not 0 <= (last - first).days <= MOST_DAYS:
        raise Invalid([Fault("to", last.isoformat(), f"is not within {MOST_DAYS} days from {first.isoformat()}")])


@dataclass(frozen=True, slots=True)
class _Plan:
    """The days of a plan, and the codes of those who work then by their ids."""

    today: date
    first: date
    last: date
    codes: Mapping[int, str]


def _due(store: Store, plan: _Plan) -> Iterator[Planned]:
    tasks = fleet_tasks(store)
    assigned = {each[:3]: each[3:] for each in store.assignments.in_force(plan.today.isoformat())}
    rows = sorted(store.due.until(plan.last.isoformat()), key=lambda row: (row[3], *row[:3]))  # on every engine alike
    sites, units = store.due.names({row[0] for row in rows}, {row[1] for row in rows})
    for row in rows:
        task = tasks[row[2]] if row[5] is None else changed_task(tasks[row[2]], Setting(row[2], orjson.loads(row[5])))
        by_plan = _plan_of(row, assigned)
        former: date | None = None
        for day in _days(row, task, plan, by_plan[1] if by_plan else None):
            fixed = former is None and by_plan is not None
            technician_id = (by_plan[0] if by_plan and fixed else None) or row[7]
            if plan.first <= day:
                yield Planned(
                    technician=plan.codes.get(technician_id or 0),
                    site=sites[row[0]],
                    unit=units[row[1]],
                    task=task.code,
                    minutes=task.minutes,
                    due_on=day,
                    limit=_limit(task, row[4], day),
                    fixed=fixed,
                    after=former,
                    overdue=_overdue(row, day, plan.today) if former is None else None,
                )
            former = day


def _once(works: list[Planned]) -> Iterator[Planned]:
    """The work without tasks that a larger one of the same unit and day contains."""
    of_days: dict[tuple[str, date], set[str]] = {}
    for work in works:
        of_days.setdefault((work.unit, work.due_on), set()).add(work.task)
    for work in works:
        if of_days[work.unit, work.due_on].isdisjoint(CONTAINING.get(work.task, ())):
            yield work


def _days(row: Listed, task: Task, plan: _Plan, planned: str | None) -> Iterator[date]:
    """The days up to the last one on which an item is done: as planned, else when it is due, then as it recurs.

    Overdue work is done today, and what is due while the unit is out of service when it is back.
    """
    day = back_on(row[9], max(date.fromisoformat(row[3]), plan.today))
    if planned is not None:
        day = max(date.fromisoformat(planned), plan.today)
    while day is not None and day <= plan.last:
        yield day
        if row[4] is None or not task.applies:
            return
        day = back_on(row[9], add_interval(day, parse_interval(row[4])))


def _overdue(row: Listed, day: date, today: date) -> Key | None:
    """Where an item stands on the list that is done today although it was due before; None for another one."""
    if not row[3] < today.isoformat() == day.isoformat():
        return None
    return key_of_item(class_of(row[2], row[8]), row[2], row[3], row[4], today.toordinal())


def _plan_of(
    row: Listed, assigned: Mapping[Target, tuple[int | None, str | None, str | None]]
) -> tuple[int | None, str] | None:
    """Who does an item and when by the closest assignment in force; None without one."""
    targets: tuple[Target, ...] = ((row[0], row[1], row[2]), (row[0], row[1], None), (row[0], None, None))
    for target in targets:
        if target in assigned:
            technician_id, day, postponed_to = assigned[target]
            on = day or postponed_to
            return None if on is None else (technician_id, on)
    return None


def _limit(task: Task, interval: str | None, due_on: date) -> date:
    """The last day for an item: as much later as its longest interval is longer than the one in force."""
    if interval is None or task.longest is None:
        return due_on
    return min(due_on + timedelta(days=max(task.longest.days - parse_interval(interval).days, 0)), LAST_DAY)


def _calls(store: Store, plan: _Plan) -> Iterator[Planned]:
    for call, _, _, technician_id in waiting_calls(store, plan.today):
        on = local_day(call.promised.from_, call.time_zone) if call.promised else call.day or plan.today
        day = max(on, plan.today)
        if plan.first <= day <= plan.last:
            yield Planned(
                technician=plan.codes.get(technician_id or 0),
                site=call.site or "",
                unit=call.unit or "",
                task=CALL,
                minutes=MINUTES[CALL],
                due_on=day,
                limit=day,
                fixed=True,
            )
