"""The child process that unpacks a workbook, within limits of memory and time: bytes in, JSON or a copy out.

Run as `python -m service.workbooks.reader read|mark`. Whatever the file does to it, the parent goes on.
"""

import json
import sys
from contextlib import suppress
from datetime import date, datetime, time, timedelta
from io import BytesIO
from typing import Any

MOST_MEMORY, MOST_SECONDS = 1536 * 2**20, 60
MOST_CELLS, MOST_SHEETS, LONGEST = 400_000, 200, 32_767
HEAVY = "The workbook takes more memory or time than a table kept by hand does."


class TooMuch(Exception):
    """The file is beyond a limit."""


def limit() -> None:
    """Bound memory and processor time of this process, where the system can."""
    with suppress(ImportError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))


def plain_value(value: Any) -> Any:
    """A cell's value as JSON: [kind, text] for dates and times."""
    if isinstance(value, datetime):
        return ["datetime", value.isoformat()]
    if isinstance(value, date):
        return ["date", value.isoformat()]
    if isinstance(value, timedelta):
        return ["text", str(value)]
    if isinstance(value, time):
        return ["time", value.isoformat()]
    return value[:LONGEST] if isinstance(value, str) else value


def read(raw: bytes) -> dict[str, Any]:
    """The sheets of a workbook with their cells."""
    import openpyxl

    book = openpyxl.load_workbook(BytesIO(raw), data_only=True, keep_links=False)
    if len(book.sheetnames) > MOST_SHEETS:
        raise TooMuch(f"The workbook has {len(book.sheetnames)} sheets, more than {MOST_SHEETS}.")
    tables = [sheet for sheet in book.worksheets]
    if sum(len(sheet._cells) for sheet in tables) > MOST_CELLS:
        raise TooMuch(f"The workbook has more than {MOST_CELLS} cells. Split it, or save its sheets as .csv.")
    formulas = uncalculated(raw, tables)
    return {"epoch": book.epoch.date().isoformat(), "sheets": [sheet_of(s, formulas.get(s.title, [])) for s in tables]}


def uncalculated(raw: bytes, tables: list[Any]) -> dict[str, list[list[int]]]:
    """Cells with a formula whose result is not in the file, by sheet."""
    import openpyxl

    written = openpyxl.load_workbook(BytesIO(raw), data_only=False, keep_links=False)
    return {
        sheet.title: [
            [row, column]
            for (row, column), cell in written[sheet.title]._cells.items()
            if cell.data_type == "f" and _value(sheet, row, column) is None
        ]
        for sheet in tables
    }


def _value(sheet: Any, row: int, column: int) -> Any:
    cell = sheet._cells.get((row, column))
    return None if cell is None else cell.value


def sheet_of(sheet: Any, formulas: list[list[int]]) -> dict[str, Any]:
    """One sheet; a merged range has its value in each of its cells of the first column, or of its one row."""
    cells = [cell_of(row, column, cell) for (row, column), cell in sheet._cells.items() if cell.value is not None]
    known = {(cell[0], cell[1]): cell for cell in cells}
    for merged in sheet.merged_cells.ranges:
        first = known.get((merged.min_row, merged.min_col))
        if first is not None and merged.max_row - merged.min_row < 10_000:
            rows = range(merged.min_row + 1, merged.max_row + 1)
            cells += [[row, merged.min_col, *first[2:]] for row in rows]
    return {
        "name": sheet.title,
        "hidden": sheet.sheet_state != "visible",
        "rows": [row for row, shape in sheet.row_dimensions.items() if shape.hidden],
        "columns": hidden_columns(sheet),
        "cells": cells,
        "wide": [
            [merged.min_row, merged.min_col, merged.max_col]
            for merged in sheet.merged_cells.ranges
            if merged.min_row == merged.max_row and merged.max_col - merged.min_col < 500
        ],
        "formulas": formulas,
    }


def hidden_columns(sheet: Any) -> list[int]:
    """The numbers of the hidden columns; one entry can stand for several."""
    found: list[int] = []
    for shape in sheet.column_dimensions.values():
        if shape.hidden and shape.min:
            found += range(shape.min, min(shape.max or shape.min, shape.min + 500) + 1)
    return found


def cell_of(row: int, column: int, cell: Any) -> list[Any]:
    """Row, column, value, number format, comment, whether coloured, whether struck through."""
    comment = cell.comment.text[:2000] if cell.comment else ""
    coloured = cell.fill is not None and cell.fill.fill_type == "solid"
    return [row, column, plain_value(cell.value), cell.number_format, comment, coloured, bool(cell.font.strike)]


def main(verb: str, given: bytes) -> bytes:
    """What the parent asked for."""
    if verb == "read":
        return json.dumps(read(given)).encode()
    from service.workbooks.marking import mark

    head, _, raw = given.partition(b"\n")
    return mark(raw, json.loads(head))


if __name__ == "__main__":
    limit()
    try:
        done = main(sys.argv[1], sys.stdin.buffer.read())
    except TooMuch as refusal:
        sys.exit(f"refused: {refusal}")
    except MemoryError:
        sys.exit(f"refused: {HEAVY}")
    except Exception as fault:  # whatever a hostile file makes the library raise: the parent reports it
        sys.exit(f"refused: The workbook cannot be read ({type(fault).__name__}). Save it again as .xlsx.")
    sys.stdout.buffer.write(done)
