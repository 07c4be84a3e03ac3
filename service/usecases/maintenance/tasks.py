"""The catalogue of PM tasks with the company's settings, for all units and for one."""

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from service.domain.audit import Actor
from service.domain.errors import Conflict, Fault, Invalid
from service.domain.maintenance.due import DueItem
from service.domain.maintenance.settings import SPANS, Setting, changed_task, default_task, merged
from service.domain.maintenance.tasks import Task
from service.storage.store import Store
from service.usecases import audit
from service.usecases.maintenance.due import changed as history_changed
from service.usecases.maintenance.due import fleet_tasks, refresh_unit

Set = tuple[Task, Setting]


def catalogue(store: Store) -> list[Set]:
    """Every task as it applies to units without settings of their own."""
    settings = store.task_settings.all()
    return [(task, settings.get(code, Setting(code))) for code, task in fleet_tasks(store).items()]


def one_task(store: Store, code: str) -> Set:
    """A task as it applies to units without settings of their own, or NotFound."""
    setting = store.task_settings.all().get(code, Setting(code))
    return changed_task(default_task(code), setting), setting


def set_task(store: Store, actor: Actor, former: Setting, changes: Mapping[str, Any]) -> Set:
    """Change a task for all units. Their due items follow: see `due.refresh_stale`."""
    task = default_task(former.task)
    _refuse_spans(task, changes)
    setting = merged(former, changes)
    applied = changed_task(task, setting)
    _check_own(store, applied)
    store.task_settings.save(setting)
    audit.changed(store, actor, "task", task.code, before=dict(former.changes), after=dict(setting.changes))
    return applied, setting


def tasks_at(store: Store, tag: str) -> list[Set]:
    """Every task as it applies at one unit, with the unit's own setting."""
    own = store.task_settings.at(store.units.place(tag).id)
    return [
        (changed_task(task, own.get(code)), own.get(code, Setting(code))) for code, task in fleet_tasks(store).items()
    ]


def task_at(store: Store, tag: str, code: str) -> Set:
    """A task as it applies at one unit, or NotFound."""
    default_task(code)
    return next(found for found in tasks_at(store, tag) if found[0].code == code)


def set_task_at(
    store: Store, actor: Actor, tag: str, former: Setting, changes: Mapping[str, Any]
) -> tuple[Set, list[DueItem]]:
    """Change a task for one unit; its due items follow at once."""
    fleet_task = fleet_tasks(store)[default_task(former.task).code]
    _refuse_spans(fleet_task, changes)
    setting = merged(former, changes)
    applied = changed_task(fleet_task, setting)
    place = store.units.place(tag, to_write=True)
    store.task_settings.save_own(setting, unit_id=place.id, customer_id=place.customer_id)
    key = f"{tag}/{former.task}"
    audit.changed(store, actor, "unit_task", key, before=dict(former.changes), after=dict(setting.changes))
    due = refresh_unit(store, *history_changed(store, place))
    return (applied, setting), due


def take(store: Store, actor: Actor, line: Mapping[str, Any]) -> str:
    """Change a task for all units by a line of a file: "added", "changed" or "unchanged"."""
    _, former = one_task(store, line["code"])
    return _taken(former, line, partial(set_task, store, actor))


def take_at(store: Store, actor: Actor, tag: str, line: Mapping[str, Any]) -> str:
    """The same for one unit."""
    _, former = task_at(store, tag, line["code"])
    return _taken(former, line, partial(set_task_at, store, actor, tag))


def _taken(former: Setting, line: Mapping[str, Any], change: Callable[[Setting, Mapping[str, Any]], object]) -> str:
    changes = {name: value for name, value in line.items() if name not in ("code", "unit")}
    if merged(former, changes).changes == former.changes:
        return "unchanged"
    change(former, changes)
    return "changed" if former.version else "added"


def _refuse_spans(task: Task, changes: Mapping[str, Any]) -> None:
    """A task that only an outcome makes due has no interval to set."""
    given = [name for name in SPANS if changes.get(name) is not None]
    if task.interval is None and given:
        message = f"{task.code} has no interval: the outcome of a visit makes it due the next day"
        raise Invalid(Fault(name, str(changes[name]), message) for name in given)


def _check_own(store: Store, applied: Task) -> None:
    """A unit's own setting must still fit the changed range."""
    for tag, own in store.task_settings.everyones():
        if own.task == applied.code:
            try:
                changed_task(applied, own)
            except Invalid as refusal:
                raise Conflict(f"The unit {tag} has a setting of its own that would not fit: {refusal}") from refusal
