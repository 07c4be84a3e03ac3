"""Tasks as they were set on each day of a unit's record, so that PM is judged by what was in force."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Any

from service.domain.condition.learned import NOTHING_LEARNED, Learned
from service.domain.instants import end_of_day, local_day, start_of_day
from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.settings import Setting, changed_task
from service.domain.maintenance.tasks import Task
from service.domain.record.unit_log import SettingChange, UnitLog
from service.domain.summary.window import Window

Changes = Mapping[str, Any]
NOTHING: Changes = {}
INSTANT = timedelta(microseconds=1)


def nothing_learned(_: datetime) -> Learned:
    """What a fleet without figures shows at any instant."""
    return NOTHING_LEARNED


@dataclass(frozen=True, kw_only=True)
class ShopTasks:
    """The settings for all units by task, their changes (the oldest first), and the tasks at the instant `as_of`.

    `learned` gives what the fleet had shown by an instant; it was learned at the instants `learned_at`.
    """

    as_of: datetime
    settings: Mapping[str, Changes] = field(default_factory=dict)
    changes: Mapping[str, Sequence[SettingChange]] = field(default_factory=dict)
    learned: Callable[[datetime], Learned] = nothing_learned
    learned_at: Sequence[datetime] = ()

    def learned_before(self, window: Window, zone: str) -> tuple[datetime, ...]:
        """When the fleet was learned from; what was learned after the window judges none of its days."""
        begins = start_of_day(window.deadline, zone)
        return tuple(each for each in self.learned_at if each < begins)

    @cached_property
    def text(self) -> str:
        """All settings and their changes."""
        later = [each.at > self.as_of for task in self.changes for each in self.changes[task]]
        return repr((self.settings, self.changes, later))

    @cached_property
    def tasks(self) -> tuple[Task, ...]:
        """The tasks as they were set for all units."""
        return self.at(self.as_of)

    def at(self, instant: datetime) -> tuple[Task, ...]:
        """The tasks as they were set for all units at another instant."""
        return tuple(self.task_at(task, instant) for task in CATALOGUE)

    def task_at(self, task: Task, instant: datetime) -> Task:
        """One task as it was set for all units at an instant."""
        now, changes = self.settings.get(task.code, NOTHING), self.changes.get(task.code, ())
        return _changed(task, now, changes, instant)


@dataclass(frozen=True, slots=True)
class UnitTasks:
    """The tasks at a unit as last set; `former`: by task each earlier setting with its last day, the oldest first.

    `learned` gives what the fleet had shown by an instant.
    """

    tasks: tuple[Task, ...]
    former: Mapping[str, tuple[tuple[date, Task], ...]] = field(default_factory=dict)
    learned: Callable[[datetime], Learned] = nothing_learned

    def on(self, task: Task, day: date) -> Task:
        """The task as it was set when that day began."""
        return next((then for last, then in self.former.get(task.code, ()) if day <= last), task)


def unit_tasks(log: UnitLog, shop: ShopTasks) -> UnitTasks:
    """The tasks at a unit at the shop's `as_of`; settings made by the end of the day it was registered always count."""
    own = _own_changes(log)
    registered = end_of_day(log.unit.registered_on, log.time_zone)
    instant, for_all = shop.as_of, shop.tasks
    if instant < registered and _changed_after(instant, shop, own):
        instant, for_all = registered, shop.at(registered)
    tasks = tuple(_at_unit(task, log, own, instant) for task in for_all) if log.settings else for_all
    changed = [task for task in CATALOGUE if task.code in shop.changes or task.code in own]
    return UnitTasks(tasks, {task.code: tuple(_former(task, log, shop, own)) for task in changed}, shop.learned)


def _own_changes(log: UnitLog) -> dict[str, list[SettingChange]]:
    found: dict[str, list[SettingChange]] = {}
    for change in log.setting_changes:
        found.setdefault(change.task, []).append(change)
    return found


def _changed_after(instant: datetime, shop: ShopTasks, own: Mapping[str, Sequence[SettingChange]]) -> bool:
    return any(each.at > instant for changes in (*shop.changes.values(), *own.values()) for each in changes)


def _former(
    task: Task, log: UnitLog, shop: ShopTasks, own: Mapping[str, Sequence[SettingChange]]
) -> Iterator[tuple[date, Task]]:
    """(day of the change, task before it) of each change after the unit's registration: one holds from the next day."""
    changes = [*shop.changes.get(task.code, ()), *own.get(task.code, ())]
    for at in sorted({each.at for each in changes if each.at <= shop.as_of}):
        if local_day(at, log.time_zone) > log.unit.registered_on:
            before = at - INSTANT
            yield local_day(at, log.time_zone), _at_unit(shop.task_at(task, before), log, own, before)


def _at_unit(task: Task, log: UnitLog, own: Mapping[str, Sequence[SettingChange]], instant: datetime) -> Task:
    return _changed(task, log.settings.get(task.code, NOTHING), own.get(task.code, ()), instant)


def _changed(task: Task, now: Changes, changes: Sequence[SettingChange], instant: datetime) -> Task:
    """The task with what was set for it at an instant."""
    then = next((each.before for each in changes if each.at > instant), now)
    return changed_task(task, Setting(task.code, then)) if then else task
