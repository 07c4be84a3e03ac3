"""Read a file of tables, whatever its name: a workbook in a process of its own, or CSV."""

import json
import subprocess
import sys
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime, time
from threading import BoundedSemaphore
from typing import Any

from service.workbooks import archive, csv_file
from service.workbooks.cells import Book, Cell, Place, Sheet, Unreadable, Value, address
from service.workbooks.numbers import has_decimal_comma
from service.workbooks.reader import HEAVY

PATIENCE = 90  # [s]
AT_ONCE = BoundedSemaphore(2)  # child processes: each may take much memory
READ: Mapping[str, Callable[[str], Value]] = {
    "datetime": datetime.fromisoformat,
    "date": date.fromisoformat,
    "time": time.fromisoformat,
    "text": str,
}


def read_book(raw: bytes, encoding: str | None = None) -> Book:
    """The tables of a file; Unreadable says why not. `encoding` is that of a CSV file, if not found by itself."""
    if not raw.strip(b"\x00 \t\r\n"):
        raise Unreadable("The file is empty.")
    if not archive.is_workbook(raw):
        return csv_file.read(raw, encoding)
    archive.check(raw)
    document = json.loads(in_child("read", raw))
    remarks = [remark for sheet in document["sheets"] for remark in _remarks(sheet)]
    sheets = tuple(_sheet(sheet) for sheet in document["sheets"])
    texts = [cell.value for sheet in sheets for cell in sheet.cells.values() if isinstance(cell.value, str)]
    return Book(sheets, date.fromisoformat(document["epoch"]), has_decimal_comma(texts), tuple(remarks))


def marked_copy(raw: bytes, name: str, marks: Iterable[tuple[str, int, int, str]]) -> bytes:
    """A copy of a workbook with a text at each cell named: sheet, row, column, text. CSV becomes a workbook."""
    placed = [list(mark) for mark in marks]
    if not archive.is_workbook(raw):
        book = csv_file.read(raw, None)
        cells = [[row, column, str(cell.value)] for (row, column), cell in book.sheets[0].cells.items()]
        head: Mapping[str, Any] = {"marks": placed, "sheet": book.sheets[0].name, "cells": cells}
        return in_child("mark", json.dumps(head).encode() + b"\n")
    lost = archive.check(raw)
    return in_child("mark", json.dumps({"marks": placed, "lost": lost, "name": name}).encode() + b"\n" + raw)


def in_child(verb: str, given: bytes) -> bytes:
    """What the child process answers; Unreadable when it refuses, dies or takes too long."""
    command = [sys.executable, "-m", "service.workbooks.reader", verb]
    try:
        with AT_ONCE:
            done = subprocess.run(command, input=given, capture_output=True, timeout=PATIENCE, check=False)  # noqa: S603
    except subprocess.TimeoutExpired as fault:
        raise Unreadable(HEAVY) from fault
    if done.returncode == 0:
        return done.stdout
    last = done.stderr.decode("utf-8", "replace").strip().rpartition("\n")[2]
    raise Unreadable(last.removeprefix("refused: ") if last.startswith("refused: ") else HEAVY)


def _remarks(sheet: Mapping[str, Any]) -> Iterable[str]:
    if sheet["formulas"]:
        first = address(*sheet["formulas"][0])
        yield (
            f"Sheet {sheet['name']!r}: {len(sheet['formulas'])} formulas have no stored result, the first in {first}. "
            "Open the workbook in a spreadsheet program and save it."
        )


def _sheet(given: Mapping[str, Any]) -> Sheet:
    cells: dict[Place, Cell] = {}
    for row, column, value, number_format, comment, coloured, struck in given["cells"]:
        cells[row, column] = Cell(_value(value), number_format, comment, coloured, struck)
    rows, columns = frozenset(given["rows"]), frozenset(given["columns"])
    return Sheet(given["name"], cells, given["hidden"], rows, columns, _groups(cells, given["wide"]))


def _groups(cells: Mapping[Place, Cell], wide: list[list[int]]) -> dict[Place, str]:
    """The texts that stand over several cells of the next row, but not over all of it as a title does."""
    found: dict[Place, str] = {}
    for row, first, last in wide:
        below = {place for place in cells if place[0] == row + 1}
        over = {place for place in below if first <= place[1] <= last}
        over_it = cells.get((row, first))
        if over_it is not None and isinstance(over_it.value, str) and over != below:
            found |= dict.fromkeys(over, over_it.text)
    return found


def _value(value: Any) -> Value:
    if isinstance(value, list):
        kind, text = value
        return READ[kind](text)
    return value  # type: ignore[no-any-return]
