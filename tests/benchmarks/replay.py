"""The floor of writing: the very rows that the product wrote, written again by the bare driver into a copy of its file.

The copy was taken before; what the product's file has and the copy lacks is read first, and only the writing is timed.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter
from typing import Any

from service.storage.engine.sqlite import driver

OF_VISIT = {
    "visit": ("id", "n.id"),
    "reading": ("visit_id", "n.id"),
    "task_result": ("visit_id", "n.id"),
    "replacement": ("visit_id", "n.id"),
    "observation": ("visit_id", "n.id"),
    "audit": ("key", "n.uuid"),
    "answer": ("visit", "n.uuid"),
}
SETTINGS = ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON")


@dataclass(frozen=True, slots=True)
class Write:
    """One statement with the rows it is run for."""

    sql: str
    rows: list[tuple[Any, ...]]


Transaction = list[Write]


class Floor:
    """A bare connection to the copy, which is brought to what the product's file holds, round by round."""

    def __init__(self, copy: Path, served: Path) -> None:
        self.served = served
        self.connection = driver().connect(str(copy), isolation_level=None)
        for pragma in SETTINGS:
            self.connection.execute(f"PRAGMA {pragma}")

    def close(self) -> None:
        """Let go of the copy."""
        self.connection.close()

    def one_by_one(self, visits: Sequence[Transaction]) -> list[float]:
        """Write each visit in a durable transaction of its own; how long each took [s]."""
        taken = []
        for writes in visits:
            start = perf_counter()
            self.write(writes)
            taken.append(perf_counter() - start)
        return taken

    def write(self, writes: Transaction) -> None:
        """Write all in one durable transaction."""
        self.connection.execute("BEGIN IMMEDIATE")
        for write in writes:
            if len(write.rows) == 1:
                self.connection.execute(write.sql, write.rows[0])
            else:
                self.connection.executemany(write.sql, write.rows)
        self.connection.execute("COMMIT")

    def missing(self) -> list[Transaction]:
        """What the copy lacks, visit by visit."""
        with self._beside():
            found: dict[int, Transaction] = defaultdict(list)
            units: dict[int, int] = {}
            for visit_id, unit_id in self.connection.execute(f"SELECT id, unit_id FROM {NEW}"):
                units[unit_id] = visit_id
            for table, (column, of) in OF_VISIT.items():
                for visit_id, write in self._inserts(table, column, of):
                    found[visit_id].append(write)
            for unit_id, write in self._due_changes():
                if unit_id in units:  # those of others are the server's own, once it has learned from the fleet
                    found[units[unit_id]].append(write)
        return list(found.values())

    @contextmanager
    def _beside(self) -> Iterator[None]:
        self.connection.execute("ATTACH ? AS served", (str(self.served),))
        try:
            yield
        finally:
            self.connection.execute("DETACH served")

    def _inserts(self, table: str, column: str, of: str) -> Iterator[tuple[int, Write]]:
        names = self._columns(table)
        sql = _insert(table, names)
        query = f"SELECT n.id, t.* FROM {NEW} n JOIN served.{table} t ON t.{column} = {of} ORDER BY n.id"
        rows: dict[int, list[tuple[Any, ...]]] = defaultdict(list)
        for visit_id, *values in self.connection.execute(query):
            rows[visit_id].append(tuple(values))
        return ((visit_id, Write(sql, many)) for visit_id, many in rows.items())

    def _due_changes(self) -> Iterator[tuple[int, Write]]:
        names = self._columns("due_item")
        known = set(self.connection.execute("SELECT unit_id, task FROM main.due_item"))
        sets = ", ".join(f"{name} = ?" for name in names[2:])
        update = f"UPDATE due_item SET {sets} WHERE unit_id = ? AND task = ?"
        for row in self.connection.execute(_except("*", "served", "main")).fetchall():
            if row[:2] in known:
                yield row[0], Write(update, [row[2:] + row[:2]])
            else:
                yield row[0], Write(_insert("due_item", names), [row])
        for row in self.connection.execute(_except("unit_id, task", "main", "served")).fetchall():
            yield row[0], Write("DELETE FROM due_item WHERE unit_id = ? AND task = ?", [row])

    def _columns(self, table: str) -> list[str]:
        return [row[1] for row in self.connection.execute(f"PRAGMA main.table_info({table})")]


NEW = "(SELECT id, uuid, unit_id FROM served.visit WHERE id > (SELECT max(id) FROM main.visit))"


def merged(visits: Iterable[Transaction]) -> Transaction:
    """All visits' rows as one transaction, each statement once with all its rows."""
    rows: dict[str, list[tuple[Any, ...]]] = defaultdict(list)
    for write in (write for writes in visits for write in writes):
        rows[write.sql] += write.rows
    return [Write(sql, many) for sql, many in rows.items()]


def rows_in(visits: Iterable[Transaction]) -> int:
    """How many rows these visits are."""
    return sum(len(write.rows) for writes in visits for write in writes)


def _insert(table: str, names: Sequence[str]) -> str:
    return f"INSERT INTO {table} ({', '.join(names)}) VALUES ({', '.join('?' * len(names))})"


def _except(columns: str, more: str, less: str) -> str:
    return f"SELECT {columns} FROM {more}.due_item EXCEPT SELECT {columns} FROM {less}.due_item"
