"""What an import of a table will do: the records with the cells they are from, faults, and what was not understood."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any, NamedTuple

import orjson

from service.mapping.blocks import Fact, Row
from service.mapping.names import Known
from service.workbooks.cells import address

FAULT, KEPT, LEFT_OUT, CHECK = "fault", "kept as a note", "not imported", "to check"


class Source(NamedTuple):
    """A cell; column 0 is the whole row."""

    sheet: str
    row: int
    column: int

    @property
    def place(self) -> str:
        """Its name within the sheet."""
        return address(self.row, self.column) if self.column else f"row {self.row}"


class Remark(NamedTuple):
    """What is wrong with a cell, or was not understood of it: how serious it is, the text given, why."""

    level: str
    source: Source
    given: str
    message: str


@dataclass(slots=True)
class Planned:
    """One record of the import, and the cells of its fields."""

    kind: str
    body: dict[str, Any]
    source: Source
    cells: dict[str, Source] = field(default_factory=dict)

    def set(self, path: str, value: Any, source: Source) -> None:
        """Give a field a value and note its cell; objects on the way are made."""
        at, names = self.body, path.split(".")
        for name in names[:-1]:
            at = at.setdefault(name, {})
        at[names[-1]] = value
        self.cells[path] = source

    def add(self, name: str, part: dict[str, Any], source: Source) -> None:
        """Add a part to a list, and note its cell."""
        parts = self.body.setdefault(name, [])
        self.cells[f"{name}.{len(parts)}"] = source
        parts.append(part)

    def source_of(self, path: str) -> Source:
        """The cell of a field, or of what it is part of."""
        while path:
            if path in self.cells:
                return self.cells[path]
            path = path.rpartition(".")[0]
        return self.source

    @property
    def line(self) -> dict[str, Any]:
        """The record as a line of the import."""
        return {"record": self.kind, **self.body}


@dataclass(slots=True)
class Plan:
    """The records in the order of an import, and every remark."""

    records: list[Planned] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)
    known: Mapping[str, Known] = field(default_factory=dict)
    unknown: Counter[tuple[str, str]] = field(default_factory=Counter)
    used: Counter[tuple[str, str]] = field(default_factory=Counter)

    def remark(self, level: str, source: Source, given: str, message: str) -> None:
        """Note a fault, or what was not understood."""
        self.remarks.append(Remark(level, source, given[:500], message))

    @property
    def faults(self) -> list[Remark]:
        """What keeps the file from being imported whole."""
        return [remark for remark in self.remarks if remark.level == FAULT]

    @property
    def key(self) -> str:
        """The hash of what would be stored: the same records give the same key.

        >>> Plan().key == Plan().key
        True
        """
        found, between = sha256(), b""
        for each in self.records:  # one by one: all lines together are as large as the file
            found.update(between + orjson.dumps(each.line))
            between = b"\n"
        return found.hexdigest()[:16]


def source(row: Row, fact: Fact | None = None) -> Source:
    """The cell of a fact, or the row."""
    return Source(row.sheet, row.number, fact.column if fact else 0)


def counts(records: Iterable[Planned]) -> Mapping[str, int]:
    """How many records of each kind."""
    made: dict[str, int] = {}
    for each in records:
        made[each.kind] = made.get(each.kind, 0) + 1
    return made
