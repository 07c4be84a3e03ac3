"""How tasks are set at a unit, and how they were set before, so that PM is judged by what held on its day."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Any

from service.domain.instants import local_day, zone
from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.settings import Setting, changed_task
from service.domain.maintenance.tasks import Task
from service.domain.record.fleet import Unit

Changes = Mapping[str, Any]
NOTHING: Changes = {}
INSTANT, ONE_DAY = timedelta(microseconds=1), timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Before:
    """When a setting was changed, and what it had been until then."""

    at: datetime
    changes: Changes


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """What is set away from the catalogue, by task for all units, by tag and task for one.

    `shop_before` and `own_before` tell what was set before each change, the oldest first.
    """

    shop: Mapping[str, Changes] = field(default_factory=dict)
    shop_before: Mapping[str, Sequence[Before]] = field(default_factory=dict)
    own: Mapping[tuple[str, str], Changes] = field(default_factory=dict)
    own_before: Mapping[tuple[str, str], Sequence[Before]] = field(default_factory=dict)

    def for_all(self, as_of: datetime) -> tuple[Task, ...]:
        """The tasks as they were set for all units at an instant."""
        return tuple(self._for_all(task, as_of) for task in CATALOGUE)

    def at(self, unit: Unit, zone_name: str, as_of: datetime, for_all: tuple[Task, ...]) -> tuple[Task, ...]:
        """The tasks as they were set at a unit at an instant; `for_all` are those for all units then.

        What was set by the end of the day on which the unit was registered counts at any instant.
        """
        registered = datetime.combine(unit.registered_on + ONE_DAY, time(), zone(zone_name)) - INSTANT
        if as_of < registered and self._changed_after(as_of):
            as_of, for_all = registered, self.for_all(registered)
        return tuple(self._at(task, unit.tag, as_of) for task in for_all)

    def former(self, unit: Unit, zone_name: str, as_of: datetime) -> dict[str, tuple[tuple[date, Task], ...]]:
        """By task how it was set at a unit before each change; see `UnitRecord`."""
        touched = (t for t in CATALOGUE if t.code in self.shop_before or (unit.tag, t.code) in self.own_before)
        return {task.code: tuple(self._former(task, unit, zone_name, as_of)) for task in touched}

    def _changed_after(self, as_of: datetime) -> bool:
        told = (*self.shop_before.values(), *self.own_before.values())
        return any(each.at > as_of for changes in told for each in changes)

    def _former(self, task: Task, unit: Unit, zone_name: str, as_of: datetime) -> Iterator[tuple[date, Task]]:
        """A change holds from the day after it, so (day of the change, task before it).

        How the unit was registered is all that is known of the time before that: no earlier setting was in force at it.
        """
        changes = [*self.shop_before.get(task.code, ()), *self.own_before.get((unit.tag, task.code), ())]
        for at in sorted({each.at for each in changes if each.at <= as_of}):
            if local_day(at, zone_name) > unit.registered_on:
                yield local_day(at, zone_name), self._at(self._for_all(task, at - INSTANT), unit.tag, at - INSTANT)

    def _for_all(self, task: Task, instant: datetime) -> Task:
        changes = _known(self.shop.get(task.code, NOTHING), self.shop_before.get(task.code, ()), instant)
        return changed_task(task, Setting(task.code, changes))

    def _at(self, for_all: Task, tag: str, instant: datetime) -> Task:
        key = tag, for_all.code
        if key not in self.own:
            return for_all
        return changed_task(
            for_all, Setting(for_all.code, _known(self.own[key], self.own_before.get(key, ()), instant))
        )


def _known(now: Changes, before: Sequence[Before], instant: datetime) -> Changes:
    return next((each.changes for each in before if each.at > instant), now)
