"""The yearly summary as PDF and workbook, read back with pypdf and openpyxl."""

from dataclasses import replace
from datetime import UTC, date, datetime
from io import BytesIO
from typing import Any
from xml.etree import ElementTree
from zipfile import ZipFile

import pytest
from openpyxl import load_workbook
from pypdf import PdfReader

from service.domain.quantities import Quantity
from service.domain.summary.counts import replaced, visits_by_kind
from service.domain.summary.document import DataState, Definition, Headline, HeadlineFigure, ServiceSummary, UnitSummary
from service.domain.summary.letter_lines import Action
from service.domain.summary.lines import Refrigerant, ReplacementLine, VisitLine
from service.domain.summary.measured import BeforeAfter, CondenserPoint, GlycolPoint, GlycolYear
from service.domain.summary.outage_totals import total
from service.domain.summary.pm import pm_count
from service.rendering.year import summary_pdf, summary_xlsx
from service.rendering.year.chart import Chart, Series, alternative
from service.rendering.year.charts import draw
from service.rendering.year.summary_rows import tables
from service.rendering.year.summary_xlsx_charts import literal
from tests.rendering.conftest import HOSTILE

DRAWING = "{http://schemas.openxmlformats.org/drawingml/2006/chart}"
DAY, NOW = date(2026, 3, 2), datetime(2026, 11, 25, 12, tzinfo=UTC)


def kelvin(number: float, dimension: str = "temperature") -> Quantity:
    return Quantity(number, dimension, "")


def a_unit(tag: str = "GU-0007", *, text: str = "cleaned", visits: int = 1) -> UnitSummary:
    seen = tuple(a_visit(tag, text, number) for number in range(visits))
    part = ReplacementLine(
        unit=tag, component="fan-1", kind="condenser_fan", on=DAY, reason="failed", condition="worn", evidence="seen",
        by="us", visit="v0", note=None,
    )  # fmt: skip
    margin = kelvin(5.0, "temperature_difference")
    point = GlycolPoint(
        visit="v0", on=DAY, strength=Quantity(0.35, "mass_fraction", ""), freezing_point=kelvin(256.15),
        coldest=kelvin(266.15), coldest_is="bath", margin=kelvin(10.0, "temperature_difference"),
    )  # fmt: skip
    return UnitSummary(
        tag=tag, site="quay", site_name=text, time_zone="UTC", place=text, maker=text, model=None,
        installed_on=DAY, retired_on=None, visits_by_kind=visits_by_kind(seen), pm=pm_count({}), pm_lines=(),
        outages=(),
        without_cold_beer=total(()), beer=(), bath=(BeforeAfter(visit="v0", on=DAY, tap=None,
        as_found=kelvin(281.15), as_left=kelvin(271.15)),), replacements=(part,), replaced=replaced((part,)),
        glycol=GlycolYear(points=(point,), least_margin=margin, least_margin_source="s", target=None),
        condenser=(CondenserPoint(visit="v0", on=DAY, as_found="heavy", split=None, clean_split=None,
        split_limit=None),), currents=(), refrigerant=Refrigerant(), actions=(), plan=(), gaps=(), visits=seen,
        readings=(),
    )  # fmt: skip


def a_visit(tag: str, text: str, number: int) -> VisitLine:
    return VisitLine(
        id=f"v{number}", unit=tag, on=DAY, arrived_at=NOW, left_at=NOW, kind="maintenance", by="us", evidence="seen",
        technician="rhea", symptom=None, reported_at=None, words=text, work=text, advice=text, outcome="running",
    )  # fmt: skip


def a_summary(*units: UnitSummary, text: str = "The Lantern Room") -> ServiceSummary:
    visits = [visit for unit in units for visit in unit.visits]
    parts = [part for unit in units for part in unit.replacements]
    figures = (HeadlineFigure(code="h", label="Hours without cold beer", value=4.5, text="4.5 h"),)
    return ServiceSummary(
        customer="lantern", customer_name=text, year=2026, as_of=NOW, first_day=date(2026, 1, 1),
        last_day=date(2026, 11, 25), plan_from=NOW.date(), plan_to=date(2027, 11, 24),
        data_state=DataState(visits=len(visits), units=len(units), latest_visit_at=None, digest="00ab"),
        program_version="0.1.0", units_shown="si",
        headline=Headline(how_it_went=text, figures=figures, what_to_do=(text,)),
        visits_by_kind=visits_by_kind(visits), pm=pm_count({}), without_cold_beer=total(()), replaced=replaced(parts),
        units=units, gaps=(), definitions=(Definition(term="Visit", text="Work at one unit."),),
    )  # fmt: skip


def pages(made: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(BytesIO(made)).pages]


def test_a_unit_says_first_what_the_customer_decides_and_how_many_lines_are_left_out() -> None:
    """Four of our tasks are overdue; the customer's line ranks below them."""
    ours = [an_action("we", "overdue", f"Task {number}") for number in range(4)]
    unit = replace(a_unit(), actions=(*ours, an_action("you", "words", "Stop the hose")))
    shown = summary_pdf._unit(a_summary(unit), unit, many=False)

    assert [line["what"] for line in shown["actions"]] == ["Stop the hose.", "Task 0.", "Task 1.", "Task 2."]
    assert shown["actions_more"] == "And 1 more: the workbook lists all."
    assert "And 1 more: the workbook lists all." in " ".join(pages(summary_pdf.render(a_summary(unit)))[1].split())


def an_action(who: str, basis: str, what: str) -> Action:
    return Action(
        units=("GU-0007",), who=who, what=what, why=("GU-0007: x",), by=None, basis=basis, first=DAY, last=DAY
    )


def test_same_data_same_bytes() -> None:
    summary = a_summary(a_unit())
    assert summary_pdf.render(summary) == summary_pdf.render(summary)
    assert summary_xlsx.render(summary) == summary_xlsx.render(summary)


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])  # ISO 216; ANSI Y14.1 A
def test_the_paper_has_its_size(paper: str, size: tuple[int, int]) -> None:
    box = PdfReader(BytesIO(summary_pdf.render(a_summary(), paper))).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size


def test_the_pdf_is_tagged_and_its_pictures_are_described() -> None:
    made = PdfReader(BytesIO(summary_pdf.render(a_summary(a_unit()))))
    root: Any = made.trailer["/Root"]
    alternatives = [item["/Alt"] for item in _all(made)]
    assert root["/MarkInfo"]["/Marked"]
    assert sum("to 2026-11-25" in each for each in alternatives) == 2


def _all(made: PdfReader) -> list[Any]:
    numbers = range(1, int(made.trailer["/Size"]))
    found = [made.get_object(number) for number in numbers]
    return [item for item in found if isinstance(item, dict) and "/Alt" in item]


def test_the_first_page_is_a_letter_and_the_units_follow() -> None:
    first, second, *_ = pages(summary_pdf.render(a_summary(a_unit("GU-1"), a_unit("GU-2"))))
    assert [head in first for head in ("What we did", "What you decide", "What we will do next")] == [True] * 3
    assert [tag in second for tag in ("GU-1", "GU-2")] == [True] * 2


def test_four_units_take_six_pages_at_most_and_sixty_twenty() -> None:
    def count(units: int) -> int:
        return len(pages(summary_pdf.render(a_summary(*(a_unit(f"GU-{number:02}") for number in range(units))))))

    assert (count(4) <= 6, count(60) <= 20) == (True, True)


def test_a_customer_without_units_gets_a_document() -> None:
    assert "What we did" in pages(summary_pdf.render(a_summary()))[0]


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_hostile_text_is_set_as_text(text: str) -> None:
    assert len(pages(summary_pdf.render(a_summary(a_unit(text=text), text=text)))) >= 2


def test_markup_is_shown_as_it_was_typed() -> None:
    text = '#read("/etc/passwd") $x$ *b* #panic()'
    assert '#read("/etc/passwd") $x$ *b* #panic()' in pages(summary_pdf.render(a_summary(text=text)))[0]


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_no_text_is_a_formula_in_the_workbook(text: str) -> None:
    workbook = load_workbook(BytesIO(summary_xlsx.render(a_summary(a_unit(text=text), text=text))))
    assert not [cell for sheet in workbook for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]


def test_every_sheet_keeps_its_heads_in_sight() -> None:
    workbook = load_workbook(BytesIO(summary_xlsx.render(a_summary(a_unit()))))
    assert {sheet.freeze_panes for sheet in workbook} == {"A2"}


def test_numbers_stand_in_the_units_of_their_head() -> None:
    summary = replace(a_summary(a_unit()), units_shown="us")  # 8 degC is 46.4 degF, -2 degC is 28.4 degF: by definition
    table = next(each for each in tables(summary) if each.name == "Temperatures")
    assert table.heads[3] == "As found °F"
    assert table.rows[0][3:] == (46.4, 28.4)


def test_a_chart_draws_its_limit_and_escapes_its_words() -> None:
    series = Series("<b>", ((DAY, 4.0),), "disc")
    chart = Chart(title="T & t", unit="°C", series=(series,), first=DAY, last=NOW.date(), limits=(("least 5 °C", 5.0),))
    drawn = draw(chart)
    assert ElementTree.fromstring(drawn)[0].text == alternative(chart)
    assert "stroke-dasharray" in drawn
    assert "<b>" not in drawn


def workbook_charts(summary: ServiceSummary) -> list[ElementTree.Element]:
    """The charts as ECMA-376 writes them, in the order of the sheets."""
    with ZipFile(BytesIO(summary_xlsx.render(summary))) as parts:
        names = [name for name in parts.namelist() if name.startswith("xl/charts/chart")]
        return [ElementTree.fromstring(parts.read(f"xl/charts/chart{n + 1}.xml")) for n in range(len(names))]


@pytest.mark.parametrize("text", [*HOSTILE.values(), "\x01\x0b\uffff", "x!A1", "Units!$A$1"])
def test_no_text_breaks_a_chart_or_is_a_reference_there(text: str) -> None:
    """ECMA-376, 21.2.2.27: a series whose name comes from cells has a `strRef` with the formula; ours are literal.

    XML 1.0, 2.2: a document with one control character is no XML, and no program opens the workbook.
    """
    unit = a_unit(text)
    beer = (replace(unit.bath[0], tap=text), replace(unit.bath[0], tap=f"={text}"))
    charts = workbook_charts(a_summary(replace(unit, beer=beer), text=text))
    names = [name for chart in charts for name in chart.iter(f"{DRAWING}tx")]

    assert names
    for name in names:
        reference = name.findtext(f".//{DRAWING}f") or "Units!"
        assert reference.startswith(("Units!", "'Units'!"))


@pytest.mark.parametrize("text", ["=Answer!$A$1", "+1", "@x", "\t=1"])
def test_a_name_in_a_chart_never_begins_as_a_formula(text: str) -> None:
    assert literal(text).startswith("'")


def test_every_chart_of_the_workbook_is_titled_and_so_are_its_axes() -> None:
    """Two of the units side by side; for each unit temperatures, glycol margin, glycol strength."""
    charts = workbook_charts(a_summary(a_unit("GU-1"), a_unit("GU-2")))
    titles = [["".join(title.itertext()) for title in chart.iter(f"{DRAWING}title")] for chart in charts]

    assert [title[1:] for title in titles[:2]] == [["Unit", "tasks"], ["Unit", "h"]]
    assert [title[0] for title in titles[2:4]] == [f"Bath and pour temperatures, GU-{n}" for n in (1, 2)]
    assert [title[1:] for title in titles[2:]] == [*[["Date", "\u00b0C"]] * 4, *[["Date", "mass%"]] * 2]


def test_a_limit_is_a_series_of_its_own_in_the_workbook() -> None:
    margin = workbook_charts(a_summary(a_unit("GU-1"), a_unit("GU-2")))[4]
    drawn = [each.text for each in margin.iter(f"{DRAWING}f")]

    assert drawn == ["Glycol!$B$2", "Glycol!$G$2", "Glycol!$B$2", "Glycol!$H$2"]
