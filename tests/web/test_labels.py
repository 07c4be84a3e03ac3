"""Labels: the code leads to the unit's page, the sheets fit their paper.

A QR code's quiet zone is four modules wide (ISO/IEC 18004, 5.3.8). A4 is 210 x 297 mm (ISO 216), Letter 8.5 x 11 in.
"""

import re
from io import BytesIO

import pytest
from pypdf import PdfReader

from service.rendering.labels.sheets import QUIET_ZONE, SHEETS, Label, code, render
from tests.web.conftest import Browser

PAPERS = {"a4": (210, 297), "us-letter": (215.9, 279.4), "": (70, 37)}


@pytest.mark.parametrize("name", SHEETS)
def test_the_labels_of_a_sheet_fit_its_paper(name) -> None:
    sheet = SHEETS[name]
    wide, high = PAPERS[sheet.paper]

    assert sheet.left + sheet.across * sheet.width + (sheet.across - 1) * sheet.gap <= wide + 0.01
    assert sheet.top + sheet.down * sheet.height <= high + 0.01


@pytest.mark.parametrize(("name", "pages"), [("a4-24", 2), ("letter-10", 3), ("single", 25)])
def test_as_many_pages_as_the_labels_need(name, pages) -> None:
    labels = [Label(f"GU-{n:04}", "cellar", f"https://fleet.example/units/GU-{n:04}") for n in range(25)]
    read = PdfReader(BytesIO(render(labels, SHEETS[name])))
    size = read.pages[0].mediabox
    paper = (float(size.width) / 72 * 25.4, float(size.height) / 72 * 25.4)

    assert len(read.pages) == pages
    assert paper == pytest.approx(PAPERS[SHEETS[name].paper], abs=0.1)
    text = "".join(page.extract_text() for page in read.pages)
    assert all(label.tag in text for label in labels)


def test_it_begins_where_a_used_sheet_goes_on(site) -> None:
    site.unit()
    office = Browser(site, site.tokens["dispatcher"])
    form = [("sheet", "a4-24"), ("unit", "GU-0007")]

    assert len(PdfReader(BytesIO(office.send("/labels", [*form, ("first", "24")]).data)).pages) == 1
    assert office.send("/labels", [*form, ("first", "25")]).status_code == 422
    assert office.send("/labels", form[:1]).status_code == 422


def test_a_code_has_its_quiet_zone() -> None:
    drawn = code("https://fleet.example/units/GU-0007")
    side = int(re.search(r'width="(\d+)"', drawn)[1]) // 4

    assert side == 33 + 2 * QUIET_ZONE  # version 4, which 35 characters need at level Q


@pytest.mark.parametrize("name", SHEETS)
@pytest.mark.parametrize("tag", ["GU-0007", "GLYCOL-UNIT-KITCHEN-01", "GLYCOL-UNIT-" * 5 + "0001"])
def test_a_long_tag_and_a_long_place_stay_on_their_label(name, tag) -> None:
    """A tag has up to 64 characters, a place up to 2000."""
    sheet = SHEETS[name]
    (page,) = PdfReader(BytesIO(render([Label(tag, "beside the walk-in " * 100, "https://x.example")], sheet))).pages
    seen: list[tuple[str, float]] = []
    page.extract_text(visitor_text=lambda text, cm, tm, *_: seen.append((text.strip(), cm[3] * tm[5] + cm[5])))
    lines = [height for text, height in seen if text]
    top = float(page.mediabox.height) - sheet.top / 25.4 * 72

    assert top - sheet.height / 25.4 * 72 < min(lines) < max(lines) < top
    assert tag in "".join(page.extract_text().split())
