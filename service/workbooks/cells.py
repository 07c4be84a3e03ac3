"""What a file of tables holds: sheets, and in them the cells that are not empty."""

import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any, TypeAlias

Value: TypeAlias = str | int | float | bool | date | datetime | time
Place: TypeAlias = tuple[int, int]  # row and column, both from 1
CONTROL = ("Cf", "Cc")
OVER = " > "


class Unreadable(ValueError):
    """The file cannot be read; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell: its value, and what a spreadsheet shows beside it."""

    value: Value
    number_format: str = ""
    comment: str = ""
    coloured: bool = False
    struck: bool = False

    @property
    def text(self) -> str:
        """The value as text on one line, without blanks at the ends."""
        return plain(shown(self.value))


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table; `records` are the numbers of the records by row where they differ (a CSV file with line breaks)."""

    name: str
    cells: Mapping[Place, Cell]
    hidden: bool = False
    hidden_rows: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    groups: Mapping[Place, str] = field(default_factory=dict)  # by a cell below: the text of a merged cell over several

    def headed(self, number: int, cells: Mapping[int, Cell]) -> dict[int, Cell]:
        """A row as headings, each behind the one that stands over several: Customer > Name."""
        over = {column: self.groups.get((number, column)) for column in cells}
        return {n: Cell(f"{over[n]}{OVER}{cell.text}") if over[n] else cell for n, cell in cells.items()}

    def rows(self) -> Iterator[tuple[int, dict[int, Cell]]]:
        """The rows that hold something, each with its cells by column."""
        by_row: dict[int, dict[int, Cell]] = {}
        for (row, column), cell in self.cells.items():
            by_row.setdefault(row, {})[column] = cell
        for row in sorted(by_row):
            yield row, dict(sorted(by_row[row].items()))


@dataclass(frozen=True, slots=True)
class Book:
    """A file of tables. `epoch` is the day 0 of its serial dates; `remarks` say what was not read."""

    sheets: tuple[Sheet, ...]
    epoch: date = date(1899, 12, 30)
    decimal_comma: bool = False
    remarks: tuple[str, ...] = field(default_factory=tuple)


def plain(text: str) -> str:
    """Text in one form: NFKC, without invisible characters, blanks collapsed.

    >>> plain("GU-0001\\u00a0 \\u200bbar ")
    'GU-0001 bar'
    """
    if not text.isascii():
        text = unicodedata.normalize("NFKC", text)
    kept = "".join(" " if c.isspace() else c for c in text if c.isspace() or unicodedata.category(c) not in CONTROL)
    return " ".join(kept.split())


def shown(value: Any) -> str:
    """A value as a person would write it.

    >>> shown(24.0), shown(date(2026, 3, 14)), shown(True)
    ('24', '2026-03-14', 'yes')
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.15g}"
    if isinstance(value, datetime):
        return value.isoformat(" ", timespec="minutes") if value.time() != time() else value.date().isoformat()
    if isinstance(value, date):
        return value.isoformat()
    return value.isoformat(timespec="minutes") if isinstance(value, time) else str(value)


def address(row: int, column: int) -> str:
    """The name of a cell.

    >>> address(12, 3), address(1, 28)
    ('C12', 'AB1')
    """
    letters = ""
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return f"{letters}{row}"
