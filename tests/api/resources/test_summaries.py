"""/v1/customers/{code}/service-summaries/{year}: who may read it, in which forms."""

import io
from zipfile import ZipFile

import pytest
from pypdf import PdfReader

from service.api import summaries

PATH = "/v1/customers/lantern/service-summaries/2026"


def test_the_owner_reads_a_year_with_units_and_version(stocked):
    summary = stocked.get(PATH)

    assert (summary["customer"], summary["year"], summary["units_shown"]) == ("lantern", 2026, "us")
    assert [unit["tag"] for unit in summary["units"]] == ["GU-0007"]
    assert summary["data_state"]["visits"] == 0
    assert summary["program_version"]


@pytest.mark.parametrize("role", ["technician", "dispatcher"])
def test_nobody_else_reads_it(stocked, role):
    assert stocked.ask("GET", PATH, role=role).status_code == 403


def test_the_csv_comes_as_a_zip_of_tables_or_as_one_table(stocked):
    whole, one = stocked.ask("GET", PATH, Accept="text/csv"), stocked.ask("GET", f"{PATH}?format=csv&table=pm")

    assert whole.mimetype == "application/zip"
    assert "pm.csv" in ZipFile(io.BytesIO(whole.data)).namelist()
    assert (one.mimetype, one.data[:9]) == ("text/csv", b'\xef\xbb\xbf"unit"')


def test_the_workbook_comes_as_what_it_is(stocked):
    answer = stocked.ask("GET", f"{PATH}?format=xlsx")

    assert answer.mimetype == "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    assert "xl/workbook.xml" in ZipFile(io.BytesIO(answer.data)).namelist()


def test_the_document_comes_as_pdf(stocked):
    answer = stocked.ask("GET", PATH, Accept="application/pdf")

    assert (answer.mimetype, answer.data[:5]) == ("application/pdf", b"%PDF-")


@pytest.mark.parametrize(
    ("query", "name"),
    [
        ("?format=pdf", "lantern-2026.pdf"),
        ("?format=xlsx", "lantern-2026.xlsx"),
        ("?format=csv", "lantern-2026.zip"),
        ("?format=csv&table=pm", "lantern-2026-pm.csv"),
    ],
)
def test_a_file_has_a_name_and_is_saved_not_shown(stocked, query, name):
    """RFC 6266, 4.1 to 4.3."""
    assert stocked.ask("GET", PATH + query).headers["Content-Disposition"] == f'attachment; filename="{name}"'


def test_the_same_as_of_gives_the_same_bytes_at_another_time(stocked, monkeypatch):
    path = f"{PATH}?as_of=2026-06-01T00:00:00Z"
    first = stocked.ask("GET", path).data
    monkeypatch.setattr(stocked, "now", stocked.now.replace(day=20))

    assert stocked.ask("GET", path).data == first


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/v1/customers/nobody/service-summaries/2026", 404),
        ("/v1/customers/lantern/service-summaries/2027", 422),
        ("/v1/customers/lantern/service-summaries/0", 422),
        (f"{PATH}?table=pm", 422),
        (f"{PATH}?format=docx", 422),
        (f"{PATH}?as_of=yesterday", 422),
        (f"{PATH}?as_of=2026-07-10T00:00:00Z", 422),
    ],
)
def test_what_cannot_be_answered_is_refused(stocked, path, status):
    assert stocked.ask("GET", path).status_code == status


def test_quantities_are_shown_in_the_units_asked_for(shop):
    shop.unit()
    shop.visit(
        "2026-06-01", readings=[{"quantity": "bath_temperature", "value": "28 degF", "when": "as_found"}]
    )  # fmt: skip

    shown = [shop.get(f"{PATH}?units={system}")["units"][0]["bath"][0]["as_found"] for system in ("us", "si")]

    assert [(each["value"], each["unit"]) for each in shown] == [(28.0, "degF"), (-2.22222, "degC")]


def test_a_visit_is_stored_while_a_summary_is_being_rendered(shop, monkeypatch):
    """No connection is out while it renders, so that however long that takes nobody waits for it."""
    shop.unit()
    pool, seen = shop.database.engine.pool, []
    idle = pool.checkedout()

    def write(*_, **__):
        seen.append(pool.checkedout())
        shop.visit("2026-06-01")
        return b"{}"

    monkeypatch.setattr(summaries, "write_summary", write)

    assert shop.ask("GET", PATH).status_code == 200
    assert seen == [idle]


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_the_document_comes_on_the_paper_asked_for(stocked, paper, size):
    """In points: A4 of ISO 216, letter of ANSI Y14.1."""
    document = PdfReader(io.BytesIO(stocked.ask("GET", f"{PATH}?format=pdf&paper={paper}").data))

    assert tuple(round(float(side)) for side in document.pages[0].mediabox[2:]) == size


def test_paper_for_another_form_than_pdf_is_refused(stocked):
    assert stocked.ask("GET", f"{PATH}?format=xlsx&paper=a4").status_code == 422
