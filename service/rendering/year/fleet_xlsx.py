"""The fleet year as a workbook: a sheet a table, typed columns, frozen heads, a native chart.

Text is never a formula.
"""

from datetime import date
from io import BytesIO
from typing import Any

import xlsxwriter  # type: ignore[import-untyped]  # it ships no types

from service.domain.summary.fleet import FleetYear
from service.rendering.words import gettext, worded
from service.rendering.year import xlsx_pages
from service.rendering.year.fleet_tables import TITLES, Cell, Sheet, sheet_of, whole
from service.rendering.year.summary_xlsx import CREATED, LONGEST_CELL
from service.rendering.year.tables import LONGEST_NAME, words

SAFE = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
MOST_BARS = 15


def render(year: FleetYear) -> bytes:
    """Every table on a sheet of its own, after one with the answer and before the definitions."""
    out = BytesIO()
    with xlsxwriter.Workbook(out, SAFE) as workbook:
        workbook.set_properties({"title": gettext("Fleet year {year}", year=year.year), "created": CREATED})
        for sheet in (_answer(year), *whole(year), _lists(year), _definitions(year)):
            _write(workbook, sheet)
    return out.getvalue()


def _answer(year: FleetYear) -> Sheet:
    headline, pm, parts = year.headline, year.pm, year.replaced
    rows: list[tuple[Cell, ...]] = [(gettext("How it went"), headline.how_it_went)]
    rows += [(figure.label, figure.text) for figure in headline.figures]
    rows += [(gettext("What to look at"), what) for what in headline.what_to_do]
    rows += [
        (gettext("From"), year.first_day),
        (gettext("To"), year.last_day),
        (gettext("Unit-years"), year.unit_years),
    ]
    rows += [
        (gettext("Hours on site"), year.hours_on_site.value / 3600),
        (gettext("Visits without end"), year.visits_without_end),
    ]
    rows += [(gettext("Visits: {kind}, ours", kind=words(each.kind)), each.ours) for each in year.visits_by_kind]
    rows += [(gettext("Visits: {kind}, others", kind=words(each.kind)), each.others) for each in year.visits_by_kind]
    rows += [(gettext("PM on time"), pm.on_time), (gettext("PM late"), pm.late), (gettext("PM missed"), pm.missed)]
    rows += [
        (gettext("Failed"), parts.failed),
        (gettext("Precaution"), parts.precaution),
        (gettext("Replacements"), parts.total),
    ]
    rows += [(gettext("Data"), year.data_state.digest), (gettext("Program version"), year.program_version)]
    rows += [(gettext("Not known"), gap.sentence) for gap in year.gaps]
    return sheet_of("Answer", ("What", "Answer"), rows)


def _lists(year: FleetYear) -> Sheet:
    lists = (
        (gettext("without a visit by us"), year.unvisited),
        (gettext("new"), year.new_units),
        (gettext("retired"), year.retired_units),
    )
    return sheet_of("Units listed", ("List", "Unit"), ((name, tag) for name, tags in lists for tag in tags))


def _definitions(year: FleetYear) -> Sheet:
    return sheet_of("Definitions", ("Term", "Meaning"), ((each.term, each.text) for each in year.definitions))


def _title(sheet: Sheet) -> str:
    return worded(sheet.name)[:LONGEST_NAME]


def _write(workbook: Any, sheet: Sheet) -> None:
    page = workbook.add_worksheet(_title(sheet))
    head = workbook.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
    plain = workbook.add_format({"text_wrap": True, "valign": "top"})
    day = workbook.add_format({"num_format": "yyyy-mm-dd", "align": "left", "valign": "top"})
    number = workbook.add_format({"num_format": "0.0###", "valign": "top"})
    widths = [_width(sheet, column) for column in range(len(sheet.heads))]
    page.freeze_panes(1, 0)
    xlsx_pages.heights(page, [tuple(map(worded, sheet.heads)), *sheet.rows], widths)
    for column, text in enumerate(sheet.heads):
        page.set_column(column, column, widths[column])
        page.write_string(0, column, worded(text), head)
    for place, row in enumerate(sheet.rows, start=1):
        for column, cell in enumerate(row):
            style = day if isinstance(cell, date) else number if isinstance(cell, float) else plain
            _put(page, (place, column), cell, style)
    if sheet.rows:
        xlsx_pages.for_print(page, len(sheet.rows), len(sheet.heads) - 1, sum(widths))
        page.autofilter(0, 0, len(sheet.rows), len(sheet.heads) - 1)
    if sheet.rows and sheet.name == TITLES["units"]:
        _bars(workbook, page, sheet)


def _put(page: Any, where: tuple[int, int], cell: Cell, style: Any) -> None:
    if isinstance(cell, str):
        page.write_string(*where, cell[:LONGEST_CELL], style)
    elif isinstance(cell, date):
        page.write_datetime(*where, cell, style)
    elif cell is not None:
        page.write_number(*where, cell, style)


def _width(sheet: Sheet, column: int) -> int:
    longest = max((len(str(row[column])) for row in sheet.rows if row[column] is not None), default=0)
    return min(max(longest, len(worded(sheet.heads[column])), 8) + 2, 60)


def _bars(workbook: Any, page: Any, sheet: Sheet) -> None:
    chart, last = workbook.add_chart({"type": "bar"}), min(len(sheet.rows), MOST_BARS)
    for name in ("Visits", "Repair visits"):
        column = sheet.heads.index(name)
        chart.add_series(
            {
                "name": [_title(sheet), 0, column],
                "categories": [_title(sheet), 1, 0, last, 0],
                "values": [_title(sheet), 1, column, last, column],
            }
        )
    chart.set_title({"name": gettext("Visits by unit")})
    chart.set_x_axis({"name": gettext("our visits in the year")})
    chart.set_y_axis({"name": gettext("unit"), "reverse": True})
    described = gettext("Visits and repair visits by unit, from this sheet.")
    page.insert_chart(1, len(sheet.heads) + 1, chart, {"description": described})
