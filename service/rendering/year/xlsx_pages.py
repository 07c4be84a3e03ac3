"""The sheets of a workbook as they are opened and printed: heights of rows, paper, heads on every page."""

import re
from collections.abc import Sequence
from math import ceil
from typing import Any

from service.rendering.words import gettext
from service.rendering.year.tables import Cell

PAPERS = {"us": 1, "si": 9}  # ECMA-376, part 1, 18.3.1.63: Letter, A4
LINE, TALLEST = 15.0, 409.0  # points: of a line of text, and the most that Excel takes
WIDEST_PAGE = 200  # letters across a landscape page at about 6 points
LINE_END = re.compile("\r\n?")  # in a cell a line ends with a line feed


def heights(sheet: Any, rows: Sequence[Sequence[Cell]], widths: Sequence[int]) -> None:
    """Rows as high as their text: not every program works that out when it opens or prints a workbook."""
    for number, row in enumerate(rows):
        lines = max(_lines(cell, wide) for cell, wide in zip(row, widths, strict=True))
        if lines > 1:
            sheet.set_row(number, min(lines * LINE, TALLEST))


def _lines(cell: Cell, wide: int) -> int:
    """How many lines a cell's text takes in a column; words that move to the next line leave a little room."""
    if not isinstance(cell, str):
        return 1
    return sum(max(1, ceil(len(line) / (0.9 * wide))) for line in LINE_END.sub("\n", cell).split("\n"))


def for_print(sheet: Any, last_row: int, last_column: int, wide: int, paper: int | None = None) -> None:
    """The table alone, its head on every page; where it is too wide to be read on one, its first column as well."""
    sheet.set_landscape()
    if paper is not None:
        sheet.set_paper(paper)
    sheet.print_area(0, 0, last_row, last_column)
    sheet.repeat_rows(0)
    if wide <= WIDEST_PAGE:
        sheet.fit_to_pages(1, 0)
    else:
        sheet.set_print_scale(70)
        sheet.repeat_columns(0)
    page = gettext("Page {page} of {pages}", page="&P", pages="&N")
    sheet.set_footer(f"&L&A&R{page}")
