"""Recent histories of units in memory."""

from collections import OrderedDict
from threading import Lock

from service.domain.record.unit_log import UnitLog

MOST_PARTS = 200_000  # readings, task results, replacements and observations kept in memory: some 60 MB


class LogCache:
    """Recent logs by unit identity, for all threads of a process; one is used only if its version is the database's."""

    def __init__(self, most_parts: int = MOST_PARTS) -> None:
        self._most, self._parts = most_parts, 0
        self._logs: OrderedDict[int, tuple[UnitLog, int]] = OrderedDict()
        self._lock = Lock()

    def get(self, unit_id: int, version: int) -> UnitLog | None:
        """The log of a unit at a version, None where it is not kept."""
        with self._lock:
            kept = self._logs.get(unit_id)
            if kept is None or kept[0].version != version:
                return None
            self._logs.move_to_end(unit_id)
            return kept[0]

    def put(self, unit_id: int, log: UnitLog) -> None:
        """Keep a log that is in the database for good; those used longest ago make room."""
        size = sum(
            2 + len(v.readings) + len(v.tasks) + len(v.replacements) + len(v.observations) for v in log.all_visits
        )
        with self._lock:
            former = self._logs.pop(unit_id, None)
            self._parts += size - (0 if former is None else former[1])
            self._logs[unit_id] = (log, size)
            while self._parts > self._most and self._logs:
                _, (_, freed) = self._logs.popitem(last=False)
                self._parts -= freed
