"""What a visit records for the company, its crew, what was used, and what the customer never reads."""

import io
from zipfile import ZipFile

import pytest
from openpyxl import load_workbook
from pypdf import PdfReader

MARKER = "Paysxlatexmarker"
SUMMARY = "/v1/customers/lantern/service-summaries/2026"
PART = {"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}


def pdf_text(data: bytes) -> str:
    return "".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)


def workbook_text(data: bytes) -> str:
    sheets = load_workbook(io.BytesIO(data)).worksheets
    return " ".join(str(value) for sheet in sheets for row in sheet.iter_rows(values_only=True) for value in row)


def zip_text(data: bytes) -> str:
    with ZipFile(io.BytesIO(data)) as archive:
        return "".join(archive.read(name).decode() for name in archive.namelist())


READ = {"json": bytes.decode, "csv": zip_text, "xlsx": workbook_text, "pdf": pdf_text}


@pytest.mark.parametrize("form", READ)
def test_an_internal_note_is_in_no_document_of_the_customer(shop, form) -> None:
    shop.unit()
    shop.visit("2026-06-01", internal_note=MARKER, advice="Advisexmarker", work="Workxmarker", outcome="down")
    first = shop.visit("2026-06-02", internal_note=MARKER, advice="Advisexmarker", outcome="running")["visit"]
    shop.patch(f"/v1/visits/{first['id']}", {"internal_note": f"{MARKER} again", "why": "typo"}, 1)
    answer = shop.ask("GET", f"{SUMMARY}?format={form}")
    text = READ[form](answer.data).replace("\n", "")

    assert answer.status_code == 200
    assert MARKER not in text
    assert "Advisexmarker" in text  # so that the test reads what a visit wrote
    assert form == "pdf" or "Workxmarker" in text  # the letter has no work; the report of a visit has


@pytest.mark.parametrize("role", ["owner", "dispatcher", "technician"])
def test_we_read_the_internal_note_at_the_visit_and_in_the_history(shop, role) -> None:
    shop.unit()
    made = shop.visit("2026-06-01", internal_note=MARKER)["visit"]
    history = shop.get("/v1/units/GU-0007/history", role=role)["items"]

    assert shop.get(f"/v1/visits/{made['id']}", role=role)["internal_note"] == MARKER
    assert [e["recorded"]["internal_note"] for e in history if e["event"] == "visit"] == [MARKER]


def test_a_failed_item_under_warranty_is_pointed_out_in_the_history(shop) -> None:
    shop.unit()
    item = {"maker": "Alder", "model": "S20", "serial": "1", "source": "the van", "warranty_until": "2027-01-31"}
    shop.visit("2026-02-01", replacements=[PART | {"item": item}])
    shop.visit("2026-06-01", replacements=[PART | {"removed_item": {"serial": "1"}}])
    later, first = [e for e in shop.get("/v1/units/GU-0007/history")["items"] if e["event"] == "replacement"]

    assert (first["recorded"]["item"], first["remark"]) == (item, None)
    assert later["recorded"]["removed_item"] == {"serial": "1"}
    assert later["remark"] == "The removed item was under warranty until 2027-01-31."


def test_a_visit_is_in_the_list_of_each_of_its_crew(shop) -> None:
    shop.unit()
    for code in ("tobin", "to_in", "TOBIN"):
        shop.post("/v1/technicians", {"code": code, "name": code})
    made = shop.visit("2026-06-01", technician="rhea", crew=["tobin"])["visit"]

    found = {code: [v["id"] for v in shop.walk(f"/v1/visits?technician={code}")] for code in ("rhea", "tobin")}
    assert found == {"rhea": [made["id"]], "tobin": [made["id"]]}
    assert shop.walk("/v1/visits?technician=to_in") == shop.walk("/v1/visits?technician=TOBIN") == []


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"technician": "rhea", "crew": ["rhea"]}, "crew.0"),
        ({"technician": "rhea", "crew": ["tobin", "tobin"]}, "crew.1"),
        ({"technician": "rhea", "crew": ["nobody"]}, "crew.0"),
        ({"technician": None, "crew": ["tobin"]}, "technician"),
        ({"by": "others", "evidence": "reported", "technician": None, "crew": ["tobin"]}, "crew"),
        ({"parts_used": [{"description": "glycol"}]}, "parts_used.0"),
        ({"parts_used": [{"description": "glycol", "quantity": "4 A"}]}, "parts_used.0.quantity"),
        ({"parts_used": [{"description": "glycol", "quantity": 4}]}, "parts_used.0.quantity"),
        ({"parts_used": [{"description": "fuse", "count": 0}]}, "parts_used.0.count"),
    ],
)
def test_a_crew_or_a_part_that_cannot_be_is_refused(shop, fields, field) -> None:
    shop.unit()
    shop.post("/v1/technicians", {"code": "tobin", "name": "Tobin"})
    body = {"id": shop.example("visit")["id"], "unit": "GU-0007", "kind": "maintenance"}
    refused = shop.ask("POST", "/v1/visits", body | {"arrived_at": "2026-06-01T18:00:00Z"} | fields)

    assert refused.status_code == 422, refused.text
    assert field in {fault["field"] for fault in refused.json["errors"]}


def test_what_was_used_is_shown_in_the_units_asked_for(shop) -> None:
    shop.unit()
    used = [{"description": "glycol", "quantity": "4 L", "source": "the van"}, {"description": "fuse", "count": 2}]
    made = shop.visit("2026-06-01", parts_used=used)["visit"]
    glycol, fuse = shop.get(f"/v1/visits/{made['id']}?units=us")["parts_used"]

    # 4 L / 3.785411784 L (US gallon of 231 cubic inches, NIST Handbook 44, appendix C)
    assert glycol["quantity"] == {"value": pytest.approx(4 / 3.785411784, rel=1e-5), "unit": "gal", "entered": "4 L"}
    assert fuse == {"description": "fuse", "count": 2}
