"""Versions and last numbers as lines of the export, restored by an import into a database without records."""

from collections.abc import Iterator, Mapping
from typing import Any

from service.domain.errors import Fault, Invalid, NotFound
from service.domain.maintenance.settings import Setting, default_task
from service.storage.store import Store
from service.storage.versions import NUMBERED, OWN, TABLES
from service.usecases.transfer import change_lines

__all__ = ["KINDS", "NUMBERED", "Versions", "lines"]
KINDS = tuple(TABLES)
SETTINGS = ("task", OWN)


def lines(store: Store) -> Iterator[dict[str, Any]]:
    """What was changed since it was stored, and the last number given out of each kind that is shown by number."""
    for kind, key, version in store.versions.all():
        yield {"record": "version", "of": kind, "key": key, "version": version}
    for kind, last in store.versions.last_ids().items():
        if last:
            yield {"record": "last_id", "of": kind, "id": last}


class Versions:
    """Those of a file. They count where there was no record before it; elsewhere records keep their own."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self.restores = store.versions.is_empty()
        self._found: dict[tuple[str, str], int] = {}
        self._last: dict[str, int] = {}

    def take(self, line: Mapping[str, Any]) -> str:
        """A version: "added", or "unchanged" or "left_out" where there were records before."""
        kind, key, version = line["of"], line["key"], line["version"]
        if kind in SETTINGS:
            self._check_task(key)
        present = self.store.versions.of(kind, key)
        if present is None and kind not in SETTINGS:
            raise Invalid([Fault("key", key, f"there is no {kind.replace('_', ' ')} {key!r}")])
        if not self.restores:
            return "unchanged" if present == version else "left_out"
        self._found[kind, key] = version
        return "added"

    def _check_task(self, key: str) -> None:
        tag, _, task = key.rpartition("/")
        try:
            default_task(task)
        except (KeyError, NotFound) as unknown:
            raise Invalid([Fault("key", key, f"there is no task {task!r}")]) from unknown
        if tag and self.store.units.present_tag(tag) is None:
            raise Invalid([Fault("key", key, f"there is no unit {tag!r}")])

    def take_last(self, line: Mapping[str, Any]) -> str:
        """The last number given out of a kind: "added", or "unchanged" or "left_out" where there were records."""
        if not self.restores:
            return "unchanged" if self.store.versions.last_ids()[line["of"]] >= line["id"] else "left_out"
        self._last[line["of"]] = line["id"]
        return "added"

    def settle(self) -> None:
        """Restore what the file has, with settings that were taken back: these have no line of their own."""
        if not self._found and not self._last:
            return
        for kind, key in self._found:
            tag, _, task = key.rpartition("/")
            if kind == OWN:
                change_lines.reset(self.store, tag, task)
            elif kind == "task" and task not in self.store.task_settings.all():
                self.store.task_settings.save(Setting(task, {}, 1))
        self.store.versions.restore(self._found, self._last)
