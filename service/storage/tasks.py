"""Task settings that differ from the catalogue, for all units and for single ones."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import orjson
from sqlalchemy import bindparam, select

from service.domain.errors import Conflict, Stale
from service.domain.instants import from_text
from service.domain.maintenance.settings import Setting
from service.domain.record.unit_log import SettingChange
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of
from service.storage.tables import change, task_setting, unit, unit_task_setting

SETTINGS = Statement(select(task_setting.c.task, task_setting.c.changes, task_setting.c.version))
ADD_SETTING = insert_of(task_setting)
SAVE_SETTING = Statement(
    task_setting.update()
    .values(changes=bindparam("new_changes"), version=bindparam("new_version"))
    .where(task_setting.c.task == bindparam("of_task"), task_setting.c.version == bindparam("former_version"))
)
CHANGES = Statement(
    select(change.c.key, change.c.at, change.c.before, change.c.after)
    .where(change.c.resource == "task")
    .order_by(change.c.at, change.c.id)
)
OWN = select(
    unit_task_setting.c.unit_id, unit_task_setting.c.task, unit_task_setting.c.changes, unit_task_setting.c.version
)
OWN_AT = Statement(OWN.where(unit_task_setting.c.unit_id == bindparam("unit_id")))
OWN_IN = Statement(OWN.where(unit_task_setting.c.unit_id.between(bindparam("low"), bindparam("high"))))
OWN_RULES = Statement(
    select(unit_task_setting.c.unit_id)
    .where(unit_task_setting.c.changes.like('%"rule":%'))
    .distinct()
    .order_by(unit_task_setting.c.unit_id)
)
ADD_OWN = insert_of(unit_task_setting)
SAVE_OWN = Statement(
    unit_task_setting.update()
    .values(changes=bindparam("new_changes"), version=bindparam("new_version"))
    .where(
        unit_task_setting.c.unit_id == bindparam("of_unit"),
        unit_task_setting.c.task == bindparam("of_task"),
        unit_task_setting.c.version == bindparam("former_version"),
    )
)


class TaskSettings:
    """The company's own settings, beside the catalogue's defaults."""

    def __init__(self, link: Link) -> None:
        self.link = link
        self._texts: tuple[tuple[str, str], ...] | None = None

    def all(self) -> dict[str, Setting]:
        """Settings for all units by task."""
        return {task: Setting(task, orjson.loads(text), version) for task, text, version in self.link.rows(SETTINGS)}

    def texts(self) -> tuple[tuple[str, str], ...]:
        """(task, changes as JSON text) of all settings for all units, by task: no digest may depend on the engine.

        A transaction asks for them once, and again after it has set one.
        """
        if self._texts is None:
            self._texts = tuple(sorted((task, text) for task, text, _ in self.link.rows(SETTINGS)))
        return self._texts

    def changes(self) -> dict[str, list[SettingChange]]:
        """The changes of the settings for all units by task, the oldest first."""
        found: dict[str, list[SettingChange]] = {}
        for row in self.link.rows(CHANGES):
            found.setdefault(row[0], []).append(read_change(*row))
        return found

    def at(self, unit_id: int) -> dict[str, Setting]:
        """A unit's own settings by task."""
        rows = self.link.rows(OWN_AT, unit_id=unit_id)
        return {task: Setting(task, orjson.loads(text), version) for _, task, text, version in rows}

    def own_in(self, low: int, high: int) -> dict[int, dict[str, Setting]]:
        """Own settings of units in a range of identities, by unit identity."""
        found: dict[int, dict[str, Setting]] = {}
        for unit_id, task, text, version in self.link.rows(OWN_IN, low=low, high=high):
            found.setdefault(unit_id, {})[task] = Setting(task, orjson.loads(text), version)
        return found

    def units_with_rules(self) -> list[int]:
        """The identities of units with a setting of their own for the rule of a task."""
        return [row[0] for row in self.link.rows(OWN_RULES)]

    def everyones(self) -> list[tuple[str, Setting]]:
        """(unit tag, setting) of all units' own settings."""
        query = (
            select(unit.c.tag, unit_task_setting.c.task, unit_task_setting.c.changes, unit_task_setting.c.version)
            .join(unit, unit.c.id == unit_task_setting.c.unit_id)
            .order_by(unit.c.tag, unit_task_setting.c.task)
        )
        return [(tag, Setting(task, orjson.loads(text), version)) for tag, task, text, version in self.link.core(query)]

    def save(self, setting: Setting) -> None:
        """Store a setting for all units; Stale when another change came first."""
        self._texts = None
        text = orjson.dumps(setting.changes).decode()
        if setting.version == 1:
            with _first_of(setting):
                self.link.run(ADD_SETTING, task=setting.task, changes=text, version=1)
        elif not self.link.run(SAVE_SETTING, **_update(setting, text)):
            raise Stale("task", setting.task)

    def save_own(self, setting: Setting, *, unit_id: int, customer_id: int) -> None:
        """Store a unit's own setting; Stale when another change came first."""
        text = orjson.dumps(setting.changes).decode()
        if setting.version == 1:
            values = {"unit_id": unit_id, "customer_id": customer_id, "task": setting.task}
            with _first_of(setting):
                self.link.run(ADD_OWN, changes=text, version=1, **values)
        elif not self.link.run(SAVE_OWN, of_unit=unit_id, **_update(setting, text)):
            raise Stale("task", setting.task)


def read_change(task: str, at: str, before: str | None, after: str | None) -> SettingChange:
    """A change of a setting from its row."""
    return SettingChange(task, from_text(at), orjson.loads(before or "{}"), orjson.loads(after or "{}"))


@contextmanager
def _first_of(setting: Setting) -> Iterator[None]:
    """On PostgreSQL two callers may find nothing set and both set it; the second is too late."""
    try:
        yield
    except Conflict as taken:
        raise Stale("task", setting.task) from taken


def _update(setting: Setting, text: str) -> dict[str, Any]:
    return {
        "of_task": setting.task,
        "new_changes": text,
        "new_version": setting.version,
        "former_version": setting.version - 1,
    }
