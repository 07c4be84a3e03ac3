"""/v1/fleet-years/{year}: for the owner alone, in every format."""

import io
from uuid import uuid4
from zipfile import ZipFile

import pytest
from pypdf import PdfReader

PATH = "/v1/fleet-years/2026"


def test_the_owner_reads_the_fleets_year(stocked):
    year = stocked.get(PATH)

    assert (year["year"], [unit["unit"] for unit in year["units"]]) == (2026, ["GU-0007"])
    assert (year["data_state"]["units"], year["unvisited"]) == (1, ["GU-0007"])


@pytest.mark.parametrize("role", ["technician", "dispatcher"])
def test_nobody_else_reads_it(stocked, role):
    assert stocked.ask("GET", PATH, role=role).status_code == 403


def test_the_csv_comes_as_a_zip_of_tables_or_as_one_table(stocked):
    whole, one = stocked.ask("GET", PATH, Accept="text/csv"), stocked.ask("GET", f"{PATH}?format=csv&table=units")

    assert (whole.mimetype, "curves.csv" in ZipFile(io.BytesIO(whole.data)).namelist()) == ("application/zip", True)
    assert (one.mimetype, one.data[:9]) == ("text/csv", b'\xef\xbb\xbf"unit"')


def test_the_workbook_and_the_document_come_as_what_they_are(stocked):
    workbook, document = stocked.ask("GET", f"{PATH}?format=xlsx"), stocked.ask("GET", PATH, Accept="application/pdf")

    assert "xl/workbook.xml" in ZipFile(io.BytesIO(workbook.data)).namelist()
    assert (document.mimetype, document.data[:5]) == ("application/pdf", b"%PDF-")


@pytest.mark.parametrize(
    ("query", "name"), [("?format=pdf", "fleet-2026.pdf"), ("?format=csv&table=units", "fleet-2026-units.csv")]
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
    "path",
    [
        "/v1/fleet-years/2027",
        "/v1/fleet-years/0",
        f"{PATH}?table=units",
        f"{PATH}?format=csv&table=visits",
        f"{PATH}?format=docx",
        f"{PATH}?units=si",
        f"{PATH}?as_of=2026-07-10T00:00:00Z",
    ],
)
def test_what_cannot_be_answered_is_refused(stocked, path):
    assert stocked.ask("GET", path).status_code == 422


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_the_document_comes_on_the_paper_asked_for(stocked, paper, size):
    """In points: A4 of ISO 216, letter of ANSI Y14.1."""
    document = PdfReader(io.BytesIO(stocked.ask("GET", f"{PATH}?format=pdf&paper={paper}").data))

    assert tuple(round(float(side)) for side in document.pages[0].mediabox[2:]) == size


def test_paper_for_another_form_than_pdf_is_refused(stocked):
    assert stocked.ask("GET", f"{PATH}?format=xlsx&paper=a4").status_code == 422


# PostgreSQL gives rows in the order in which they were last written.
def test_the_order_in_which_settings_were_changed_is_no_other_data(shop) -> None:
    shop.unit()
    for task, interval in (("trunk_check", 5), ("pump_check", 2), ("trunk_check", 4)):
        path = f"/v1/tasks/{task}"
        tag = shop.ask("GET", path).headers["ETag"]
        assert shop.ask("PATCH", path, {"interval": f"{interval} months"}, If_Match=tag).status_code == 200
        with shop.database.reading() as store:
            tasks = [code for code, _ in store.task_settings.texts()]
        assert tasks == sorted(tasks)


def test_a_call_that_nobody_answered_counts_where_the_unit_stood_and_in_the_fleet_once(shop) -> None:
    """The unit moved to another site of the customer, then to another customer: the call stays with the first."""
    shop.unit()
    shop.post("/v1/customers", {"code": "heron", "name": "Heron"})
    for code, customer in (("lantern-lock", "lantern"), ("heron-dock", "heron")):
        shop.post("/v1/sites", {"code": code, "customer": customer, "name": code, "time_zone": "America/Denver"})
    call = {"id": str(uuid4()), "received_at": "2026-03-02T10:00:00-07:00", "symptom": "warm_pour", "unit": "GU-0007"}
    shop.post("/v1/calls", call)
    for site, since in (("lantern-lock", "2026-04-01"), ("heron-dock", "2026-05-01")):
        shop.post("/v1/units/GU-0007/locations", {"site": site, "from": since, "reason": "move"})
        years = [shop.get(f"/v1/customers/{code}/service-summaries/2026") for code in ("lantern", "heron")]
        counted = [each["without_cold_beer"]["end_unknown"] for each in (*years, shop.get(PATH))]
        assert counted == [1, 0, 1], site
