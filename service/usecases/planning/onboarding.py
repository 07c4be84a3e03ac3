"""Lay out the first weeks with a fleet that was taken over, and keep the first dates of the plan that is accepted."""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any

import orjson

from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid
from service.domain.instants import LAST_YEAR, local_day
from service.domain.maintenance.calendar_days import add_interval
from service.domain.maintenance.onboarding import URGENCY, Laid, Span, Work, lay
from service.domain.maintenance.settings import Setting, changed_task
from service.domain.maintenance.tasks import Task, parse_interval
from service.domain.record.care import Planned
from service.domain.record.checks import LAST_ZONE
from service.domain.record.fleet import WEEKDAYS
from service.domain.record.pauses import away_text, is_away
from service.domain.record.unit_log import UnitLog
from service.storage.store import Store
from service.usecases import audit
from service.usecases.maintenance.due import changed as history_changed
from service.usecases.maintenance.due import fleet_tasks, items_of, refresh_unit
from service.usecases.record.company import capacity_on
from service.usecases.record.visits import location_of


@dataclass(frozen=True, slots=True)
class Plan:
    """What is laid on which day, of the work of all units due in the weeks of the plan."""

    span: Span
    laid: tuple[Laid, ...]

    @property
    def hours_per_day(self) -> float:
        """The hours a day within which the work is laid."""
        return self.span.minutes / 60

    @property
    def notes(self) -> list[str]:
        """What the plan cannot spread: overdue work that keeps its date stands on the first list all at once."""
        overdue = [each.work for each in self.laid if each.work.keeps_date and each.work.due_on < self.span.first]
        if not overdue:
            return []
        hours, is_are = sum(work.minutes for work in overdue) / 60, "task is" if len(overdue) == 1 else "tasks are"
        return [
            f"{len(overdue)} {is_are} overdue by our own record ({hours:.1f} h): done in our care before, so the dates "
            f"stay, and all of it is on the list of {self.span.first}. Where our care began later than that work, set "
            "care_from and ask for the plan again."
        ]


def plan(store: Store, asked: Mapping[str, Any], now: datetime) -> Plan:
    """The plan for what is asked; Invalid where it begins before today, or the hours a day do not suffice.

    Nothing is stored.
    """
    hours = _hours(store, asked)
    if faults := list(_faults(asked, hours, now)):
        raise Invalid(faults)
    span = _span(asked, hours)
    works = [work for log in _logs(store) for work in _works(store, log, fleet_tasks(store), span)]
    laid, left = lay(works, span)
    if left:
        short = round(sum(work.minutes for work in left) / 60, 1)
        message = f"{len(left)} tasks of {short} h do not fit into {_weeks(asked)}; give more weeks or hours"
        raise Invalid([Fault("hours_per_day", hours, message)])
    return Plan(span, laid)


def accept(store: Store, actor: Actor, made: Plan) -> None:
    """Store the plan's first dates in place of all former ones, and bring the units' due items up to date."""
    dates: dict[str, dict[str, Planned]] = defaultdict(dict)
    for each in made.laid:
        if each.day != each.work.due_on and not each.work.keeps_date:
            dates[each.work.unit][each.work.task] = Planned(each.day, made.span.first)
    former = {tag for tag, *_ in store.first_dates.everyones()}
    for tag in sorted(former | dates.keys()):
        place = store.units.place(tag, to_write=True)
        store.first_dates.put(place, dates.get(tag, {}))
        refresh_unit(store, *history_changed(store, place))
    after = {tag: {task: each.on.isoformat() for task, each in own.items()} for tag, own in sorted(dates.items())}
    audit.record(
        store,
        actor,
        action="created",
        resource="onboarding_plan",
        key=made.span.first.isoformat(),
        before=None,
        after=orjson.dumps(after).decode(),
    )


def take(store: Store, actor: Actor, line: Mapping[str, Any], text: str) -> str:
    """Store the first date in a line of an import, which is `text`: "added", "changed" or "unchanged"."""
    place = location_of(store, line["unit"])
    known = store.first_dates.of(place.id, place.id).get(place.id, {})
    task, planned = line["task"], Planned(line["on"], line["since"])
    if known.get(task) == planned:
        return "unchanged"
    store.first_dates.put(place, known | {task: planned})
    refresh_unit(store, *history_changed(store, place))
    audit.record(
        store, actor, action="imported", resource="first_date", key=f"{place.tag}/{task}", before=None, after=text
    )
    return "changed" if task in known else "added"


def _hours(store: Store, asked: Mapping[str, Any]) -> float:
    """The hours a day asked for, else the capacity of the company on the plan's first day."""
    given: float | None = asked.get("hours_per_day")
    return capacity_on(store, asked["from"]).hours_per_day if given is None else given


def _faults(asked: Mapping[str, Any], hours: float, now: datetime) -> Iterator[Fault]:
    """What is wrong with the days and hours asked for."""
    first, last, today = asked["from"], _last_day(asked), local_day(now, LAST_ZONE)
    if first < today:
        yield Fault("from", first.isoformat(), f"is past; it is {today}: first dates are laid from today on")
    if hours <= 0:
        message = "is required: no technician in service has hours of a working day, and the company has none"
        yield Fault("hours_per_day", None, message)
    if last.year > LAST_YEAR:
        yield Fault("weeks", asked["weeks"], f"the plan would end on {last}, after the year {LAST_YEAR}")


def _last_day(asked: Mapping[str, Any]) -> date:
    last: date = asked["from"] + timedelta(weeks=asked["weeks"]) - timedelta(days=1)
    return last


def _weeks(asked: Mapping[str, Any]) -> str:
    return "1 week" if asked["weeks"] == 1 else f"{asked['weeks']} weeks"


def _span(asked: Mapping[str, Any], hours: float) -> Span:
    return Span(
        first=asked["from"],
        last=_last_day(asked),
        weekdays=frozenset(WEEKDAYS.index(name) for name in asked["weekdays"]),
        minutes=int(hours * 60),
    )


def _logs(store: Store) -> Iterator[UnitLog]:
    for chunk in store.unit_logs.in_chunks():
        yield from (log for _, log in chunk)


def _works(store: Store, log: UnitLog, tasks: Mapping[str, Task], span: Span) -> Iterator[Work]:
    """What is due at a unit by the end of the plan, without any first date that was planned before."""
    care = log.care
    began = care.care_from or log.unit.registered_on
    ours, away = _done_in_our_care(log), away_text(care.away, care.out_from, span.first)
    for item in items_of(store, replace(log, planned={}), tasks):
        unlisted = is_away(item.away, span.first.isoformat(), span.last.isoformat())
        if item.task not in URGENCY or item.interval is None or item.due_on > span.last or unlisted:
            continue
        task = changed_task(tasks[item.task], Setting(item.task, log.settings.get(item.task, {})))
        if task.longest is not None:
            yield Work(
                site=log.site.code,
                unit=log.unit.tag,
                task=item.task,
                minutes=task.minutes,
                interval=parse_interval(item.interval),
                due_on=item.due_on,
                limit=add_interval(item.last_done_on or began, task.longest),
                closed=log.site.closed,
                away=away,
                keeps_date=not ours.isdisjoint((item.task, *task.also_by)),
            )


def _done_in_our_care(log: UnitLog) -> set[str]:
    """The tasks that we did; where a day is recorded for the beginning of our care, since then."""
    began = log.care.care_from or date.min
    return {each.task for each in log.performed() if each.by == "us" and each.result == "done" and each.on >= began}
