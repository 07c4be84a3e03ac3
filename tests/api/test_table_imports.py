"""Workbooks and CSV over HTTP: the template, a guess, a dry run, the import, a marked copy; and what is refused."""

import json
from io import BytesIO

import openpyxl
import pytest

from service.api.table_imports import XLSX
from tests.workbook import saved

UNITS = "Tag,Customer,Where,Model\nGU-0001,Heron Tap,patio,K4\nGU-0002,Heron Tap,roof,K4\n"
PATH = "/v1/table-imports"


@pytest.fixture
def send(client, as_owner):
    """A form with a file and a mapping."""

    def sent(path, raw, mapping=None):
        form = {"file": (BytesIO(raw.encode() if isinstance(raw, str) else raw), "units.csv")}
        if mapping is not None:
            form["mapping"] = mapping
        return client.post(f"{PATH}{path}", data=form, headers=as_owner, content_type="multipart/form-data")

    return sent


@pytest.fixture
def mapping(send):
    """The guess for the list of units, answered."""
    guessed = send("/mapping-guesses", UNITS)
    assert guessed.status_code == 200
    assert [question["path"] for question in guessed.json["questions"]] == ["time_zone"]
    return guessed.json["mapping"].replace('time_zone = "?"', 'time_zone = "America/Denver"')


def stored(client, as_owner):
    exported = client.get("/v1/exports?trail=false", headers=as_owner).data
    return [json.loads(line)["record"] for line in exported.splitlines()]


def test_a_dry_run_shows_what_the_import_then_stores(send, mapping, client, as_owner):
    shown = send("?dry_run=true", UNITS, mapping)

    assert (shown.status_code, shown.json["stored"], shown.json["faults"]) == (200, False, 0)
    assert shown.json["added"] == {"customer": 1, "site": 1, "unit": 2}
    assert stored(client, as_owner) == []
    done = send(f"?plan={shown.json['plan']}", UNITS, mapping)
    assert (done.status_code, done.json["added"]) == (201, shown.json["added"])
    assert stored(client, as_owner) == ["customer", "site", "unit", "unit"]
    again = send("", UNITS, mapping)
    assert (again.status_code, again.json["added"], again.json["changed"]) == (201, {}, {})


def test_another_plan_than_the_one_shown_is_a_conflict(send, mapping):
    assert send("?plan=0123456789abcdef", UNITS, mapping).status_code == 409


def test_a_fault_has_its_sheet_and_cell_and_stores_nothing(send, mapping, client, as_owner):
    wrong = UNITS.replace("Tag,", "Installed,Tag,").replace("GU-0001", "soon,GU-0001").replace("GU-0002", ",GU-0002")
    mapping = mapping.replace("[table.columns]", '[table.columns]\n"Installed" = "unit.installed_on"')

    refused = send("", wrong, mapping)

    assert refused.status_code == 422
    assert [(error["field"], error["value"]) for error in refused.json["errors"]] == [("CSV.A2", "soon")]
    assert stored(client, as_owner) == []
    shown = send("?dry_run=true", wrong, mapping).json["remarks"][0]
    assert (shown["level"], shown["sheet"], shown["cell"], shown["row"]) == ("fault", "CSV", "A2", 2)
    copy = send("/marked-copies", wrong, mapping)
    assert copy.content_type == XLSX
    sheet = openpyxl.load_workbook(BytesIO(copy.data)).active
    assert "is not a day" in sheet["A2"].comment.text


def test_the_template_is_given_and_taken(send, client, as_owner):
    template = client.get(f"{PATH}/template", headers=as_owner)
    assert template.content_type == XLSX
    book = openpyxl.load_workbook(BytesIO(template.data))
    book["Customers"].append(["Heron Tap", "heron"])

    assert send("", saved(book)).json["added"] == {"customer": 1}


@pytest.mark.parametrize(
    ("raw", "words"),
    [("Date;Unit\n1.1.2026;GU-1\n", "no filled-in template"), (b"%PDF-1.7", "PDF"), (b"PK\x03\x04", "damaged")],
)
def test_what_cannot_be_read_is_refused_with_the_reason(send, raw, words):
    refused = send("", raw)

    assert refused.status_code == 422
    assert words in refused.json["errors"][0]["message"]


def test_another_body_is_415_and_a_form_without_a_file_is_422(client, as_owner):
    assert client.post(PATH, data=b"x", content_type="text/csv", headers=as_owner).status_code == 415
    empty = client.post(PATH, data={"mapping": "x"}, content_type="multipart/form-data", headers=as_owner)
    assert (empty.status_code, empty.json["errors"][0]["field"]) == (422, "file")


def test_a_dry_run_of_json_lines_stores_nothing(client, as_owner):
    line = b'{"record": "customer", "code": "heron", "name": "Heron Tap"}\n'

    shown = client.post("/v1/imports?dry_run=true", data=line, content_type="application/x-ndjson", headers=as_owner)

    assert (shown.status_code, shown.json["added"]) == (200, {"customer": 1})
    assert stored(client, as_owner) == []
