"""How a workbook opens and prints: what is wrapped has the height of its lines, and the paper is the reader's."""

import io
from dataclasses import replace

import pytest
from openpyxl import load_workbook

from service.rendering.year import fleet_xlsx, summary_xlsx
from tests.rendering.test_fleet_year_documents import a_year
from tests.rendering.test_summary_documents import a_summary, a_unit

LONG = "Decide whether the unit gets cooler air or a better place, and keep the space around it free. " * 2


@pytest.mark.parametrize(("system", "paper"), [("us", 1), ("si", 9)])  # ECMA-376, part 1, 18.3.1.63: Letter, A4
def test_a_sheet_has_the_readers_paper_and_its_head_on_every_page(system: str, paper: int) -> None:
    summary = replace(a_summary(a_unit()), units_shown=system)
    for sheet in load_workbook(io.BytesIO(summary_xlsx.render(summary))):
        if sheet.max_row > 1:
            assert (sheet.page_setup.paperSize, sheet.page_setup.orientation) == (paper, "landscape")
            assert sheet.print_title_rows == "$1:$1"


def test_a_row_is_as_high_as_its_text() -> None:
    """Of a column of at most 60 letters; 15 points a line."""
    summary = replace(a_summary(a_unit()), done=(LONG, "Short."))
    answer = load_workbook(io.BytesIO(summary_xlsx.render(summary)))["Answer"]
    heights = {row[1].value: answer.row_dimensions[row[0].row].height for row in answer.iter_rows(min_row=2)}

    assert len(LONG) > 3 * 60
    assert (heights[LONG], heights["Short."]) == (60.0, None)


def test_the_fleets_workbook_is_set_up_for_print() -> None:
    for sheet in load_workbook(io.BytesIO(fleet_xlsx.render(a_year()))):
        if sheet.max_row > 1:
            assert (sheet.page_setup.orientation, sheet.print_title_rows) == ("landscape", "$1:$1")
