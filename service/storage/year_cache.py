"""Years of units in memory; alone in its module, because what such a year is needs numpy and scipy."""

from collections import OrderedDict
from collections.abc import Callable, Iterable, Mapping
from itertools import islice
from threading import Lock
from typing import Any, Generic, TypeVar

MOST = 500  # years of units in memory
Key = tuple[int, int]  # unit and year
Row = dict[str, Any]
K = TypeVar("K")
Year = TypeVar("Year")


class YearCache(Generic[Year]):
    """Years made or read lately by unit and year, for all threads of a process, and which of them are to be stored."""

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._made: OrderedDict[Key, Year] = OrderedDict()
        self._new: OrderedDict[Key, Year | Row] = OrderedDict()
        self._lock = Lock()

    def get(self, unit_id: int, year: int) -> Year | None:
        """A unit's year."""
        with self._lock:
            made = self._made.get((unit_id, year))
            if made is not None:
                self._made.move_to_end((unit_id, year))
            return made

    def put(self, unit_id: int, year: int, made: Year, *, new: bool = False) -> None:
        """Keep a unit's year, a new one also for the database; those used longest ago make room."""
        with self._lock:
            self._keep(self._made, (unit_id, year), made)
            if new:
                self._keep(self._new, (unit_id, year), made)

    def add_rows(self, rows: Iterable[Row]) -> None:
        """Take years that another process made, for the database alone."""
        with self._lock:
            for row in rows:
                self._keep(self._new, (row["unit_id"], row["year"]), row)

    def next_rows(self, most: int, row_of: Callable[[int, int, Year], Row]) -> dict[Key, Row]:
        """Some of those that are to be stored, as rows."""
        with self._lock:
            some = list(islice(self._new.items(), most))
        rows = {key: each if isinstance(each, dict) else row_of(*key, each) for key, each in some}
        with self._lock:
            for key, each in some:
                if self._new.get(key) is each:
                    self._new[key] = rows[key]
        return rows

    def stored(self, rows: Mapping[Key, Row]) -> None:
        """Note that rows are in the database, or with another process that stores them; newer ones are not."""
        with self._lock:
            for key, row in rows.items():
                if self._new.get(key) is row:
                    del self._new[key]

    def _keep(self, kept: OrderedDict[Key, K], key: Key, each: K) -> None:
        kept[key] = each
        kept.move_to_end(key)
        if len(kept) > self._most:
            kept.popitem(last=False)
