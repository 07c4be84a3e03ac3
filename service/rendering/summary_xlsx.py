"""A service summary as a workbook: a sheet a table, typed columns, frozen heads, native charts.

Text is never a formula.
"""

from datetime import date, datetime
from io import BytesIO
from typing import Any

import xlsxwriter  # type: ignore[import-untyped]  # it ships no types

from service.domain.summary.summary import ServiceSummary
from service.rendering.summary_tables import Cell, Table, tables

LONGEST_CELL = 32_767  # characters: Excel's limit
CREATED = datetime(2000, 1, 1)  # noqa: DTZ001 - the format knows no zone; fixed, so that the same data give the same bytes
CHARTED = {"Temperatures": (3, 4), "Glycol": (5,), "Condenser": (3, 4)}


def render(summary: ServiceSummary) -> bytes:
    """Write every table of the summary to a sheet of its own, after a sheet with the answer."""
    out = BytesIO()
    safe = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with xlsxwriter.Workbook(out, safe) as book:
        book.set_properties({"title": f"Service summary {summary.year}", "created": CREATED})
        for table in (_answer(summary), *tables(summary), _definitions(summary)):
            _sheet(book, table)
    return out.getvalue()


def _answer(summary: ServiceSummary) -> Table:
    told = summary.headline
    rows: list[tuple[Cell, ...]] = [("Customer", summary.customer_name), ("How it went", told.how_it_went)]
    rows += [(figure.label, figure.told) for figure in told.figures]
    rows += [("What to do", what) for what in told.what_to_do]
    rows += [("From", summary.first_day), ("To", summary.last_day), ("State of the data", summary.data_state.digest)]
    rows += [("Program version", summary.program_version)]
    rows += [("Not known", gap.sentence) for gap in summary.gaps]
    return Table("Answer", ("What", "Said"), tuple(rows))


def _definitions(summary: ServiceSummary) -> Table:
    return Table("Definitions", ("Term", "Meaning"), tuple((each.term, each.text) for each in summary.definitions))


def _sheet(book: Any, table: Table) -> None:
    sheet = book.add_worksheet(table.name)
    head = book.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
    plain = book.add_format({"text_wrap": True, "valign": "top"})
    day = book.add_format({"num_format": "yyyy-mm-dd", "align": "left", "valign": "top"})
    sheet.freeze_panes(1, 0)
    for column, words in enumerate(table.heads):
        sheet.set_column(column, column, _width(table, column))
        sheet.write_string(0, column, words, head)
    for number, row in enumerate(table.rows, start=1):
        for column, cell in enumerate(row):
            _write(sheet, (number, column), cell, day if isinstance(cell, date) else plain)
    if table.rows:
        sheet.autofilter(0, 0, len(table.rows), len(table.heads) - 1)
        _chart(book, sheet, table)


def _write(sheet: Any, where: tuple[int, int], cell: Cell, style: Any) -> None:
    if isinstance(cell, str):
        sheet.write_string(*where, cell[:LONGEST_CELL], style)
    elif isinstance(cell, date):
        sheet.write_datetime(*where, cell, style)
    elif cell is not None:
        sheet.write_number(*where, cell, style)


def _width(table: Table, column: int) -> int:
    longest = max((len(str(row[column])) for row in table.rows if row[column] is not None), default=0)
    return min(max(longest, len(table.heads[column]), 8) + 2, 60)


def _chart(book: Any, sheet: Any, table: Table) -> None:
    columns = CHARTED.get(table.name, ())
    if not columns:
        return
    chart = book.add_chart({"type": "scatter"})
    for column in columns:
        chart.add_series(
            {
                "name": table.heads[column],
                "categories": [table.name, 1, 1, len(table.rows), 1],
                "values": [table.name, 1, column, len(table.rows), column],
            }
        )
    chart.set_title({"name": table.name})
    chart.set_x_axis({"date_axis": True, "num_format": "mmm yyyy"})
    chart.set_y_axis({"name": table.heads[columns[0]]})
    sheet.insert_chart(1, len(table.heads) + 1, chart, {"description": f"{table.name} by date, from this sheet."})
