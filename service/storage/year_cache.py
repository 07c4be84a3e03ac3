"""Years of units in memory; alone in its module, because what such a year is needs numpy and scipy."""

from collections import OrderedDict
from threading import Lock
from typing import Generic, Protocol, TypeVar

MOST = 500  # years of units in memory


class Keepable(Protocol):
    """A unit's year; `stored`: it is in the database."""

    stored: bool


Year = TypeVar("Year", bound=Keepable)


class YearCache(Generic[Year]):
    """Years made or read lately by unit and year, for all threads of a process."""

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._made: OrderedDict[tuple[int, int], Year] = OrderedDict()
        self._lock = Lock()

    def get(self, unit_id: int, year: int) -> Year | None:
        """A unit's year."""
        with self._lock:
            made = self._made.get((unit_id, year))
            if made is not None:
                self._made.move_to_end((unit_id, year))
            return made

    def put(self, unit_id: int, year: int, made: Year) -> None:
        """Keep a unit's year; those used longest ago make room."""
        with self._lock:
            self._made[unit_id, year] = made
            self._made.move_to_end((unit_id, year))
            if len(self._made) > self._most:
                self._made.popitem(last=False)

    def to_store(self, most: int) -> list[tuple[tuple[int, int], Year]]:
        """Some of those that are not in the database."""
        with self._lock:
            found = [(key, made) for key, made in self._made.items() if not made.stored]
        return found[:most]
