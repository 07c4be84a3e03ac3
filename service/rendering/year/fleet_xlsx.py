"""The fleet year as a workbook: a sheet a table, typed columns, frozen heads, a native chart.

Text is never a formula.
"""

from datetime import date
from io import BytesIO
from typing import Any

import xlsxwriter  # type: ignore[import-untyped]  # it ships no types

from service.domain.summary.fleet import FleetYear
from service.rendering.year.fleet_tables import TITLES, Cell, Sheet, whole
from service.rendering.year.summary_xlsx import CREATED, LONGEST_CELL

SAFE = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
MOST_BARS = 15


def render(year: FleetYear) -> bytes:
    """Every table on a sheet of its own, after one with the answer and before the definitions."""
    out = BytesIO()
    with xlsxwriter.Workbook(out, SAFE) as workbook:
        workbook.set_properties({"title": f"Fleet year {year.year}", "created": CREATED})
        for sheet in (_answer(year), *whole(year), _lists(year), _definitions(year)):
            _write(workbook, sheet)
    return out.getvalue()


def _answer(year: FleetYear) -> Sheet:
    headline, pm, parts = year.headline, year.pm, year.replaced
    rows: list[tuple[Cell, ...]] = [("How it went", headline.how_it_went)]
    rows += [(figure.label, figure.text) for figure in headline.figures]
    rows += [("What to look at", what) for what in headline.what_to_do]
    rows += [("From", year.first_day), ("To", year.last_day), ("Unit-years", year.unit_years)]
    rows += [("Hours on site", year.hours_on_site.value / 3600), ("Visits without end", year.visits_without_end)]
    rows += [(f"Visits: {each.kind.replace('_', ' ')}, ours", each.ours) for each in year.visits_by_kind]
    rows += [(f"Visits: {each.kind.replace('_', ' ')}, others", each.others) for each in year.visits_by_kind]
    rows += [("PM on time", pm.on_time), ("PM late", pm.late), ("PM missed", pm.missed)]
    rows += [("Failed", parts.failed), ("Precaution", parts.precaution), ("Replacements", parts.total)]
    rows += [("Data", year.data_state.digest), ("Program version", year.program_version)]
    rows += [("Not known", gap.sentence) for gap in year.gaps]
    return Sheet("Answer", ("What", "Answer"), tuple(rows))


def _lists(year: FleetYear) -> Sheet:
    lists = (("without a visit by us", year.unvisited), ("new", year.new_units), ("retired", year.retired_units))
    return Sheet("Units listed", ("List", "Unit"), tuple((name, tag) for name, tags in lists for tag in tags))


def _definitions(year: FleetYear) -> Sheet:
    return Sheet("Definitions", ("Term", "Meaning"), tuple((each.term, each.text) for each in year.definitions))


def _write(workbook: Any, sheet: Sheet) -> None:
    page = workbook.add_worksheet(sheet.name)
    head = workbook.add_format({"bold": True, "bottom": 1, "text_wrap": True, "valign": "top"})
    plain = workbook.add_format({"text_wrap": True, "valign": "top"})
    day = workbook.add_format({"num_format": "yyyy-mm-dd", "align": "left", "valign": "top"})
    page.freeze_panes(1, 0)
    for column, text in enumerate(sheet.heads):
        page.set_column(column, column, _width(sheet, column))
        page.write_string(0, column, text, head)
    for number, row in enumerate(sheet.rows, start=1):
        for column, cell in enumerate(row):
            _put(page, (number, column), cell, day if isinstance(cell, date) else plain)
    if sheet.rows:
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
    return min(max(longest, len(sheet.heads[column]), 8) + 2, 60)


def _bars(workbook: Any, page: Any, sheet: Sheet) -> None:
    chart, last = workbook.add_chart({"type": "bar"}), min(len(sheet.rows), MOST_BARS)
    for name in ("Visits", "Repair visits"):
        column = sheet.heads.index(name)
        chart.add_series(
            {
                "name": [sheet.name, 0, column],
                "categories": [sheet.name, 1, 0, last, 0],
                "values": [sheet.name, 1, column, last, column],
            }
        )
    chart.set_title({"name": "Visits by unit"})
    chart.set_x_axis({"name": "our visits in the year"})
    chart.set_y_axis({"name": "unit", "reverse": True})
    page.insert_chart(
        1, len(sheet.heads) + 1, chart, {"description": "Visits and repair visits by unit, from this sheet."}
    )
