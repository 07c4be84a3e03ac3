"""The fleet year as PDF and workbook, read back with pypdf and openpyxl against its JSON."""

import json
import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from typing import Any
from xml.etree import ElementTree

import pytest
from openpyxl import load_workbook
from pypdf import PdfReader

from service.domain.record.fleet import Component, Site, Unit
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Complaint, Replacement, Visit
from service.domain.root_causes.life_cycle import RootCause
from service.domain.summary.fleet import FleetYear, fleet_year
from service.domain.summary.settings import ShopTasks
from service.domain.summary.unit_record import UnitRecord
from service.domain.summary.unit_year import UnitYear, unit_year
from service.rendering.year import fleet_json as fleet_year_json
from service.rendering.year import fleet_pdf as fleet_year_pdf
from service.rendering.year import fleet_xlsx as fleet_year_xlsx
from service.rendering.year.fleet_charts import bars, curves
from tests.rendering.conftest import HOSTILE

NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
BEGUN = date(2023, 1, 1)


def a_visit(tag: str, number: int, day: date) -> Visit:
    arrived = datetime(day.year, day.month, day.day, 18, tzinfo=UTC)
    part = Replacement(
        component="pump-1", reason="failed" if number // 2 % 3 else "precaution", condition="seized", evidence="seen"
    )
    return Visit(
        id=f"{tag}-{number}", unit=tag, arrived_at=arrived, left_at=arrived + timedelta(minutes=95), time_zone="UTC",
        kind="service_call" if number % 2 else "maintenance", technician="rhea", outcome="running",
        complaint=Complaint(symptom="warm_pour") if number % 2 else None, replacements=() if number % 2 else (part,),
        posted_at=arrived, posted_by="test",
    )  # fmt: skip


def a_unit(number: int, text: str = "The Lantern Room", visits: int = 6) -> UnitYear:
    """Of unit 1 the root cause says why it was resolved."""
    tag = f"GU-{number:03}"
    days = [date(2025, 3, 1) + timedelta(days=100 * n + number) for n in range(visits)]
    site = Site(code=f"site-{number}", customer="lantern", name=text, time_zone="UTC")
    unit = Unit(tag=tag, site=site.code, maker=text, model=text, installed_on=BEGUN, registered_on=BEGUN,
        components=(Component(code="pump-1", kind="pump"),),
    )  # fmt: skip
    log = UnitLog(unit=unit, site=site, all_visits=tuple(a_visit(tag, n, day) for n, day in enumerate(days)))
    texts = dict.fromkeys(("explanation", "next_check", "remedy"), text)
    document = json.dumps({"causes": [{"cause": "glycol_weak", "probability": 0.9}], "events": [], **texts})
    found = RootCause(
        unit=tag, kind="pump", tier="strong", probability_of_chance=0.02, document=document, evidence_key="",
        first_seen=NOW, updated_at=NOW, state="resolved", decided_by=text, decided_at=NOW, why=text,
        resolved_on=date(2026, 6, 1),
    )  # fmt: skip
    former = replace(found, decided_at=datetime(2025, 9, 1, tzinfo=UTC), state="dismissed", resolved_on=None)
    own = ([found], [former]) if number == 1 else ([], [])
    return unit_year(UnitRecord(log, ShopTasks(as_of=NOW)), own[0], 2026, own[1])


def a_year(units: int = 8, text: str = "The Lantern Room", visits: int = 6) -> FleetYear:
    fleet = [a_unit(number, text, visits) for number in range(1, units + 1)]
    return fleet_year(fleet, {"lantern": text}, 2026, as_of=NOW, settings="", program_version="0.1.0")


def plain(year: FleetYear) -> Any:
    return json.loads(fleet_year_json.render(year))


def text_of(made: bytes) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(BytesIO(made)).pages))


def test_same_year_same_bytes() -> None:
    year = a_year()
    assert fleet_year_pdf.render(year) == fleet_year_pdf.render(year)
    assert fleet_year_xlsx.render(year) == fleet_year_xlsx.render(year)


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])  # ISO 216; ANSI Y14.1 A
def test_the_paper_has_its_size(paper: str, size: tuple[int, int]) -> None:
    box = PdfReader(BytesIO(fleet_year_pdf.render(a_year(), paper))).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size


def test_the_pdf_is_tagged_and_its_pictures_are_described() -> None:
    made = PdfReader(BytesIO(fleet_year_pdf.render(a_year())))
    root: Any = made.trailer["/Root"]
    objects = [made.get_object(number) for number in range(1, int(made.trailer["/Size"]))]
    shown = [str(item["/Alt"]) for item in objects if isinstance(item, dict) and "/Alt" in item]
    assert root["/MarkInfo"]["/Marked"]
    assert [each.split(":")[0] for each in sorted(shown)] == [
        "Our visits by unit, those with most repair visits first",
        "Pump",
    ]


def test_the_tables_of_the_pdf_show_the_figures_of_the_json() -> None:
    year, shown = plain(a_year()), text_of(fleet_year_pdf.render(a_year()))
    rows = [
        *((u["unit"], u["site"], u["visits"], u["repair_visits"], _hours(u["hours_on_site"])) for u in year["units"]),
        *((c["code"], c["units"], c["visits"], c["repair_visits"]) for c in year["customers"]),
        *((p["kind"], p["units"], p["visits"], p["repair_visits"]) for p in year["parts"]),
        *((k["kind"], k["failed"], f"{k['rate']:.2f}", f"{k['low']:.2f}", f"{k['high']:.2f}") for k in year["kinds"]),
        *((c["unit"], c["kind"], c["tier"], "glycol weak", "2", c["state"]) for c in year["root_causes"]),
        *((d["unit"], d["kind"], d["decided"], d["decided_on"]) for d in year["decisions"]),
        *((m["units"], f"{m['unit_years']:.1f}", m["failed"], f"{m['rate']:.2f}") for m in year["models"]),
    ]
    for row in rows:
        assert re.search(".{,60}".join(re.escape(str(cell)) for cell in row), shown), row


def _hours(quantity: dict[str, Any]) -> str:
    assert quantity["unit"] == "min"
    return f"{quantity['value'] / 60:.1f}"


def test_the_first_page_is_the_answer() -> None:
    year = a_year()
    first = re.sub(r"\s+", " ", PdfReader(BytesIO(fleet_year_pdf.render(year))).pages[0].extract_text())
    for text in (year.headline.how_it_went, *(figure.text for figure in year.headline.figures)):
        assert text in first
    assert "most time to repair" in first


def test_the_hours_are_those_of_outages_from_before_as_well() -> None:
    year = a_year()
    carried = replace(year, without_cold_beer=replace(year.without_cold_beer, outages=3, carried_over=2))
    said = [" ".join(fleet_year_pdf._numbers(each)) for each in (year, carried)]
    assert "outages and 2 from before: " not in said[0]
    assert "Without cold beer in 3 outages and 2 from before: " in said[1]


def test_a_decision_is_shown_with_its_reason() -> None:
    shown = text_of(fleet_year_pdf.render(a_year(text="Ducted away")))
    assert "GU-001, pump: resolved by Ducted away. Ducted away" in shown


@pytest.mark.parametrize("year", [a_year(0), a_year(1, visits=0), a_year(40, visits=2)], ids=["none", "idle", "forty"])
def test_a_fleet_of_any_size_gets_a_document(year: FleetYear) -> None:
    shown = text_of(fleet_year_pdf.render(year))
    assert "How the year went" in shown
    assert ("and 25 more, in the workbook and the CSV" in shown) == (len(year.units) == 40)


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_hostile_text_is_set_as_text(text: str) -> None:
    year = a_year(2, text=text)
    assert "How the year went" in text_of(fleet_year_pdf.render(year))
    workbook = load_workbook(BytesIO(fleet_year_xlsx.render(year)))
    assert not [cell for sheet in workbook for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]


SHEETS = {
    "Customers": "customers", "Sites": "sites", "Units": "units", "Kinds of components": "parts", "Causes": "causes",
    "PM by task": "tasks", "Makers and models": "models", "This year against before": "kinds",
    "Root causes": "root_causes", "Decisions of the year before": "decisions",
}  # fmt: skip
CODED = ("kind", "reason", "basis", "cause", "state", "verdict", "decided", "came_of_it")


@pytest.mark.parametrize("sheet", SHEETS)
def test_every_cell_of_the_workbook_is_the_figure_of_the_json(sheet: str) -> None:
    year = a_year()
    page = load_workbook(BytesIO(fleet_year_xlsx.render(year)))[sheet]
    lines = plain(year)[SHEETS[sheet]]
    rows = [[_of_cell(cell) for cell in row] for row in page.iter_rows(min_row=2, values_only=True)]

    assert page.freeze_panes == "A2"
    assert rows == [[_of_json(name, value) for name, value in line.items()] for line in lines]


def _of_cell(cell: Any) -> Any:
    if isinstance(cell, datetime):
        return cell.date().isoformat()
    return pytest.approx(cell) if isinstance(cell, float) else cell


def _of_json(name: str, value: Any) -> Any:
    if isinstance(value, dict):
        return value["value"] / 60
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value.replace("_", " ") if name in CODED and value else value


def test_the_curves_of_the_workbook_are_those_of_the_json() -> None:
    year = a_year()
    page = load_workbook(BytesIO(fleet_year_xlsx.render(year)))["Replacements by age"]
    rows = [
        (row[0], row[1], row[3], row[5], row[6], row[7], row[8]) for row in page.iter_rows(min_row=2, values_only=True)
    ]
    steps = [(curve, step) for curve in plain(year)["curves"] for step in curve["steps"]]

    assert len(rows) > 10
    for row, (curve, step) in zip(rows, steps, strict=True):
        assert row[:4] == (curve["kind"], curve["reason"], step["age_days"], step["watched"])
        assert row[4:] == pytest.approx((step["mean"], step["low"], step["high"]))


def test_the_pictures_say_in_words_what_they_draw() -> None:
    year = a_year()
    (curve,), drawn = curves(year), bars(year)
    assert drawn is not None
    for picture in (curve, drawn):
        assert ElementTree.fromstring(picture.svg)[0].text == picture.alt
    last = plain(year)["curves"][0]["steps"][-1]
    assert f"{last['mean']:.2f}, between {last['low']:.2f} and {last['high']:.2f} at 95 %" in curve.alt
    assert curve.svg.count("<polygon") == 1
    assert 'stroke-dasharray="4 2"' in curve.svg


def test_no_more_than_fifteen_bars_are_drawn() -> None:
    drawn = bars(a_year(40))
    assert drawn is not None
    assert drawn.svg.count(">GU-") == 15
