"""How settings change a task of the catalogue."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from service.domain.errors import Fault, Invalid, NotFound
from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.tasks import Interval, Task, parse_interval

SPANS = ("interval", "shortest", "longest")
BY_CODE = {task.code: task for task in CATALOGUE}


@dataclass(frozen=True, slots=True)
class Setting:
    """Fields that differ from the default, as in JSON. Version 0: never set."""

    task: str
    changes: Mapping[str, Any] = field(default_factory=dict)
    version: int = 0


def default_task(code: str) -> Task:
    """The catalogue's task, or NotFound."""
    if code not in BY_CODE:
        raise NotFound("task", code)
    return BY_CODE[code]


def changed_task(task: Task, setting: Setting | None) -> Task:
    """The task with a setting applied; Invalid when the result contradicts itself."""
    if setting is None or not setting.changes:
        return task
    changes: dict[str, Any] = {name: value for name, value in setting.changes.items() if name != "note"}
    for name in SPANS:
        if name in changes:
            changes[name] = parse_interval(changes[name])
    for name in ("bring", "skills"):
        if name in changes:
            changes[name] = tuple(changes[name])
    try:
        return replace(task, **changes)
    except ValueError as refusal:
        field_at_fault = "rule" if changes.keys() == {"rule"} else "interval"
        raise Invalid([Fault(field_at_fault, setting.changes.get(field_at_fault), str(refusal))]) from refusal


def merged(former: Setting, changes: Mapping[str, Any]) -> Setting:
    """The next version of a setting; a field given as null goes back to the default."""
    plain = {name: str(value) if isinstance(value, Interval) else value for name, value in changes.items()}
    kept = {name: value for name, value in {**former.changes, **plain}.items() if value is not None}
    return Setting(former.task, kept, former.version + 1)
