"""A customer's year and the fleet's: who may read them, in which forms, under which names."""

import io
from zipfile import ZipFile

import pytest
from pypdf import PdfReader

SUMMARY, FLEET = "/v1/customers/lantern/service-summaries/2026", "/v1/fleet-years/2026"
both = pytest.mark.parametrize("path", [SUMMARY, FLEET])


@both
@pytest.mark.parametrize("role", ["technician", "dispatcher"])
def test_nobody_but_the_owner_reads_it(stocked, path, role):
    assert stocked.ask("GET", path, role=role).status_code == 403


@pytest.mark.parametrize(("path", "table", "another"), [(SUMMARY, "pm", "pm"), (FLEET, "units", "curves")])
def test_the_csv_comes_as_a_zip_of_tables_or_as_one_table(stocked, path, table, another):
    whole, one = stocked.ask("GET", path, Accept="text/csv"), stocked.ask("GET", f"{path}?format=csv&table={table}")

    assert (whole.mimetype, f"{another}.csv" in ZipFile(io.BytesIO(whole.data)).namelist()) == ("application/zip", True)
    assert (one.mimetype, one.data[:9]) == ("text/csv", b'\xef\xbb\xbf"unit"')


@both
def test_the_workbook_and_the_document_come_as_what_they_are(stocked, path):
    workbook, document = stocked.ask("GET", f"{path}?format=xlsx"), stocked.ask("GET", path, Accept="application/pdf")

    assert workbook.mimetype == "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    assert "xl/workbook.xml" in ZipFile(io.BytesIO(workbook.data)).namelist()
    assert (document.mimetype, document.data[:5]) == ("application/pdf", b"%PDF-")


@pytest.mark.parametrize(
    ("path", "name"),
    [
        (f"{SUMMARY}?format=pdf", "lantern-2026.pdf"),
        (f"{SUMMARY}?format=xlsx", "lantern-2026.xlsx"),
        (f"{SUMMARY}?format=csv", "lantern-2026.zip"),
        (f"{SUMMARY}?format=csv&table=pm", "lantern-2026-pm.csv"),
        (f"{FLEET}?format=pdf", "fleet-2026.pdf"),
        (f"{FLEET}?format=csv&table=units", "fleet-2026-units.csv"),
    ],
)
def test_a_file_has_a_name_and_is_saved_not_shown(stocked, path, name):
    """RFC 6266, 4.1 to 4.3."""
    assert stocked.ask("GET", path).headers["Content-Disposition"] == f'attachment; filename="{name}"'


@both
def test_the_same_as_of_gives_the_same_bytes_at_another_time(stocked, monkeypatch, path):
    asked = f"{path}?as_of=2026-06-01T00:00:00Z"
    first = stocked.ask("GET", asked).data
    monkeypatch.setattr(stocked, "now", stocked.now.replace(day=20))

    assert stocked.ask("GET", asked).data == first


@both
@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_the_document_comes_on_the_paper_asked_for(stocked, path, paper, size):
    """In points: A4 of ISO 216, letter of ANSI Y14.1."""
    document = PdfReader(io.BytesIO(stocked.ask("GET", f"{path}?format=pdf&paper={paper}").data))

    assert tuple(round(float(side)) for side in document.pages[0].mediabox[2:]) == size


@both
def test_paper_for_another_form_than_pdf_is_refused(stocked, path):
    assert stocked.ask("GET", f"{path}?format=xlsx&paper=a4").status_code == 422
