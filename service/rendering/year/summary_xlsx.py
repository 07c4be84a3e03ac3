"""A service summary as a workbook: a sheet a table, typed columns, frozen heads, native charts.

Text is never a formula.
"""

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime
from io import BytesIO
from typing import Any

import xlsxwriter  # type: ignore[import-untyped]  # it ships no types

from service.domain import messages
from service.domain.summary.document import ServiceSummary
from service.rendering.words import gettext, term, worded
from service.rendering.year import summary_xlsx_charts, xlsx_pages
from service.rendering.year.summary_rows import actions_table, tables, units_table
from service.rendering.year.summary_totals import totals_table
from service.rendering.year.tables import Cell, Column, Row, Table

DECIMALS = {None: "0.0###", 0: "0", 1: "0.0", 2: "0.00"}
LONGEST_CELL = 32_767  # characters: Excel's limit
CREATED = datetime(2000, 1, 1)  # noqa: DTZ001 - the format knows no zone; fixed, so that the same data give the same bytes


def render(summary: ServiceSummary) -> bytes:
    """Write every table of the summary to a sheet of its own, after a sheet with the answer."""
    out = BytesIO()
    safe = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with xlsxwriter.Workbook(out, safe) as workbook:
        workbook.set_properties({"title": gettext("Service summary {year}", year=summary.year), "created": CREATED})
        styles = _Styles(workbook)
        answer = _table("Answer", ("What", "Answer"), _answer(summary))
        first = (answer, actions_table(summary), totals_table(summary), units_table(summary))
        for table in (*first, *tables(summary), _definitions(summary)):
            _sheet(workbook, styles, table, xlsx_pages.PAPERS[summary.units_shown])
    return out.getvalue()


def _table(name: str, heads: tuple[str, ...], rows: Iterable[Row]) -> Table:
    return Table(messages.term(name), tuple(Column(messages.term(head)) for head in heads), tuple(rows))


def _answer(summary: ServiceSummary) -> tuple[Row, ...]:
    headline, state = summary.headline, summary.data_state
    sender = summary.company
    heads = ("name", "address", "phone", "email", "licence")
    rows: list[Row] = [
        (gettext("Company: {what}", what=term(head)), getattr(sender, head)) for head in heads if getattr(sender, head)
    ]
    rows += [(gettext("Customer"), summary.customer_name), (gettext("How it went"), headline.how_it_went)]
    rows += [(each.label, f"{each.text} ({each.more})" if each.more else each.text) for each in headline.figures]
    rows += [(gettext("What we did"), what) for what in summary.done]
    rows += [(gettext("From"), summary.first_day), (gettext("To"), summary.last_day)]
    rows += [(gettext("Plan from"), summary.plan_from), (gettext("Plan to"), summary.plan_to)]
    rows += [(gettext("As of, UTC"), _utc(summary.as_of)), (gettext("Data"), state.digest)]
    rows += [(gettext("Visits on record"), state.visits), (gettext("Units on record"), state.units)]
    rows += [(gettext("Latest visit, UTC"), _utc(state.latest_visit_at))]
    return (*rows, (gettext("Program version"), summary.program_version), *_handed_out(summary), *_gaps(summary))


def _handed_out(summary: ServiceSummary) -> Iterator[Row]:
    for each in summary.handed_out:
        yield gettext("Handed out, UTC, {form}", form=each.form), _utc(each.issued_at)
    for each in summary.handed_out[-1:]:
        yield gettext("Data changed since then"), gettext("yes") if each.differs else gettext("no")


def _gaps(summary: ServiceSummary) -> Iterator[Row]:
    yield from ((gettext("Not known"), gap.sentence) for gap in summary.gaps)
    for unit in summary.units:
        yield from ((gettext("Not known of {unit}", unit=gap.unit), gap.sentence) for gap in unit.gaps)


def _utc(instant: datetime | None) -> datetime | None:
    return None if instant is None else instant.astimezone(UTC).replace(tzinfo=None)


def _definitions(summary: ServiceSummary) -> Table:
    return _table("Definitions", ("Term", "Meaning"), ((each.term, each.text) for each in summary.definitions))


class _Styles:
    """The formats of cells; a workbook keeps each once."""

    def __init__(self, workbook: Any) -> None:
        """Make them in `workbook`."""
        top = {"valign": "top", "align": "left"}
        self.head = workbook.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
        self.text = workbook.add_format({"text_wrap": True, "valign": "top"})
        self.day = workbook.add_format({**top, "num_format": "yyyy-mm-dd"})
        self.instant = workbook.add_format({**top, "num_format": "yyyy-mm-dd hh:mm"})
        right = {"valign": "top", "align": "right", "indent": 1}
        self.whole = workbook.add_format({**right, "num_format": "0"})
        self.digits = {n: workbook.add_format({**right, "num_format": shown}) for n, shown in DECIMALS.items()}


def _sheet(workbook: Any, styles: _Styles, table: Table, paper: int) -> None:
    sheet = workbook.add_worksheet(table.title)
    sheet.freeze_panes(1, 0)
    widths = [_width(table, number) for number in range(len(table.columns))]
    xlsx_pages.heights(sheet, [tuple(worded(each.head) for each in table.columns), *table.rows], widths)
    for number, column in enumerate(table.columns):
        sheet.set_column(number, number, widths[number])
        sheet.write_string(0, number, worded(column.head), styles.head)
    for number, row in enumerate(table.rows, start=1):
        for place, (cell, column) in enumerate(zip(row, table.columns, strict=True)):
            _write(sheet, (number, place), cell, styles, column.digits)
    if table.rows:
        sheet.autofilter(0, 0, len(table.rows), len(table.heads) - 1)
        xlsx_pages.for_print(sheet, len(table.rows), len(table.heads) - 1, sum(widths), paper)
        summary_xlsx_charts.draw(workbook, sheet, table)


def _write(sheet: Any, where: tuple[int, int], cell: Cell, styles: _Styles, digits: int | None) -> None:
    if isinstance(cell, str):
        sheet.write_string(*where, xlsx_pages.LINE_END.sub("\n", cell)[:LONGEST_CELL], styles.text)
    elif isinstance(cell, date):
        sheet.write_datetime(*where, cell, styles.instant if isinstance(cell, datetime) else styles.day)
    elif cell is not None:
        sheet.write_number(
            *where,
            cell,
            styles.digits[digits] if isinstance(cell, float) else styles.whole,
        )


def _width(table: Table, column: int) -> int:
    longest = max((_length(row[column]) for row in table.rows if row[column] is not None), default=0)
    return min(max(longest, *map(len, worded(table.columns[column].head).split()), 8) + 2, 60)


def _length(cell: Cell) -> int:
    return 16 if isinstance(cell, datetime) else 6 if isinstance(cell, float) else len(str(cell))
