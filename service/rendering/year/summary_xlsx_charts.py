"""The native charts of the workbook: one a unit and a measure, beside the rows that it draws.

Each chart has titles, one unit of measure on its axis and its limits as series of their own, lines without marks. The
others differ in the shape of their marks, so that they read in black and white.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from service.rendering.csv_guard import guarded
from service.rendering.words import gettext, term
from service.rendering.year.tables import Table

MARKS = ("circle", "square", "x", "triangle", "diamond", "plus")
INK, ACCENT = "#1C2733", "#0B5D7A"
WIDTH, HEIGHT, COLUMNS_WIDE, ROWS_HIGH = 560, 260, 9, 14
NO_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")  # XML 1.0, 2.2: no document may hold them
REFERENCE = re.compile(r"!(?=\$?[A-Z]+\$?\d)")
MOST_UNITS = 30  # in a chart that has all of them side by side


@dataclass(frozen=True, slots=True)
class Drawing:
    """What to draw of a table: `columns` and `limits` by how their heads begin; a series for each value of `each`."""

    title: str
    axis: str
    columns: tuple[str, ...]
    limits: tuple[str, ...] = ()
    each: str | None = None


DRAWINGS = {
    "Temperatures": (Drawing("Bath and pour temperatures", "As found", ("As found", "As left"), each="What"),),
    "Glycol": (
        Drawing("Freezing margin of the glycol", "Margin", ("Margin",), ("Least margin",)),
        Drawing("Strength of the glycol", "Strength", ("Strength",), ("Target",)),
    ),
    "Condenser": (Drawing("Condenser split", "Split", ("Split",), ("Clean split", "Limit")),),
    "Currents": (Drawing("Currents", "Current", ("Current",), ("Rated",), each="Component"),),
}
SIDE_BY_SIDE = (
    ("PM by unit", "tasks", "stacked", ("PM on time", "PM late", "PM missed")),
    ("Hours without cold beer by unit", "h", "", ("Seen h", "Estimated h")),
)


@dataclass(frozen=True, slots=True)
class _Block:
    """Rows of one unit that follow each other, counted from 1 below the head."""

    table: Table
    unit: str
    first: int
    last: int

    def column(self, head: str) -> int:
        return next(number for number, each in enumerate(self.table.heads) if each.startswith(head))

    def refer(self, column: int) -> list[Any]:
        return [self.table.title, self.first, column, self.last, column]

    def known(self, column: int) -> bool:
        return any(row[column] is not None for row in self.table.rows[self.first - 1 : self.last])

    def parts(self, head: str) -> Iterator[tuple[str, "_Block"]]:
        column, start = self.column(head), self.first
        for value, rows in groupby(self.table.rows[self.first - 1 : self.last], lambda row: row[column]):
            end = start + len(list(rows)) - 1
            yield str(value), _Block(self.table, self.unit, start, end)
            start = end + 1


def literal(text: str) -> str:
    """Text from the record as a chart can hold it: the library takes what looks like `Sheet!A1` for a reference.

    >>> literal("=Answer!$A$1"), literal("tap\\x0b 3")
    ("'=Answer! $A$1", 'tap\ufffd 3')
    """
    return guarded(REFERENCE.sub("! ", NO_XML.sub("\ufffd", text)))


def draw(workbook: Any, sheet: Any, table: Table) -> None:
    """Insert the charts of a table beside it, if it has any."""
    if table.name == "Units":
        _side_by_side(workbook, sheet, table)
    if table.name not in DRAWINGS:
        return
    for beside, drawing in enumerate(DRAWINGS[table.name]):
        below = 1
        for unit, rows in _Block(table, "", 1, len(table.rows)).parts("Unit"):
            chart = _chart(workbook, _Block(table, unit, rows.first, rows.last), drawing)
            if chart is not None:
                described = gettext(
                    "{title} of {unit} by date, from the rows of this sheet.", title=term(drawing.title), unit=unit
                )
                options = {"description": literal(described)}
                sheet.insert_chart(below, len(table.heads) + 1 + beside * COLUMNS_WIDE, chart, options)
                below += ROWS_HIGH


def _chart(workbook: Any, block: _Block, drawing: Drawing) -> Any:
    """None where there is nothing to draw."""
    chart, marks = workbook.add_chart({"type": "scatter"}), iter(MARKS * 100)
    drawn = [
        _points(part, head, _series(name, head) if len(drawing.columns) > 1 else name or term(head), next(marks))
        for name, part in (block.parts(drawing.each) if drawing.each else [("", block)])
        for head in drawing.columns
        if part.known(part.column(head))
    ]
    if not drawn:
        return None
    limits = [
        _limit(part, head, _series(name, head), dash)
        for name, part in (block.parts(drawing.each) if drawing.each else [("", block)])
        for head, dash in zip(drawing.limits, ("dash", "round_dot"), strict=False)
        if part.known(part.column(head))
    ]
    for series in (*drawn, *limits):
        chart.add_series(series)
    _dress(chart, f"{term(drawing.title)}, {block.unit}", block.table.heads[block.column(drawing.axis)].split()[-1])
    return chart


def _series(name: str, head: str) -> str:
    return f"{name}, {term(head.lower())}" if name else term(head)


def _points(block: _Block, head: str, name: str, mark: str) -> dict[str, Any]:
    dates = block.refer(block.column("Date"))
    color = {"color": ACCENT if mark in {"circle", "triangle"} else INK}
    marker = {"type": mark, "size": 6, "border": color, "fill": color}
    return {"name": literal(name), "categories": dates, "values": block.refer(block.column(head)), "marker": marker}


def _limit(block: _Block, head: str, name: str, dash: str) -> dict[str, Any]:
    return {
        "name": literal(name),
        "categories": block.refer(block.column("Date")),
        "values": block.refer(block.column(head)),
        "marker": {"type": "none"},
        "line": {"color": INK, "width": 1.5, "dash_type": dash},
    }


def _dress(chart: Any, title: str, unit: str) -> None:
    chart.set_title({"name": literal(title), "name_font": {"size": 11}})
    chart.set_x_axis({"name": term("Date"), "date_axis": True, "num_format": "mmm yyyy", "label_position": "low"})
    chart.set_y_axis({"name": unit, "major_gridlines": {"visible": True, "line": {"color": "#C9D1D8"}}})
    chart.set_legend({"position": "bottom"})
    chart.set_size({"width": WIDTH, "height": HEIGHT})


def _side_by_side(workbook: Any, sheet: Any, table: Table) -> None:
    if not 1 <= len(table.rows) <= MOST_UNITS:
        return
    block = _Block(table, "", 1, len(table.rows))
    for number, (title, unit, kind, heads) in enumerate(SIDE_BY_SIDE):
        chart = workbook.add_chart({"type": "column", "subtype": kind} if kind else {"type": "column"})
        for head, color in zip(heads, (ACCENT, "#C9D1D8", INK), strict=False):
            values = block.refer(block.column(head))
            options = {"name": term(head), "categories": block.refer(0), "values": values}
            chart.add_series({**options, "fill": {"color": color}, "border": {"color": INK}})
        _dress(chart, term(title), term(unit))
        chart.set_x_axis({"name": term("Unit")})
        described = gettext("{title}, from this sheet.", title=term(title))
        sheet.insert_chart(len(table.rows) + 2, 1 + number * 5, chart, {"description": described})
