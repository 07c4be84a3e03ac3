"""glycol-fleet summary and fleet-year: one customer's year, everybody's or the fleet's, to files."""

import json

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from service.cli import main

RECORDS = [
    {"record": "customer", "code": "lantern", "name": "The Lantern Room"},
    {"record": "customer", "code": "anchor", "name": "The Anchor"},
    {"record": "site", "code": "quay", "customer": "lantern", "name": "Quay", "time_zone": "America/Denver"},
    {"record": "unit", "tag": "GU-1", "site": "quay", "installed_on": "2023-05-02"},
]


@pytest.fixture
def run(tmp_path):
    environ = {"GLYCOL_FLEET_HOME": str(tmp_path / "home"), "GLYCOL_FLEET_DATABASE_URL": ""}
    given = b"".join(json.dumps(record).encode() + b"\n" for record in RECORDS)

    def runs(*words, given=b""):
        return CliRunner().invoke(main, words, input=given, env=environ)

    assert runs("migrate").exit_code == 0
    assert runs("import", "-", given=given).exit_code == 0
    return runs


def test_one_customers_year_is_written_to_a_file(run, tmp_path):
    done = run("summary", "lantern", "2025", "--output", str(tmp_path / "year.json"))

    assert done.exit_code == 0, done.output
    assert json.loads((tmp_path / "year.json").read_bytes())["customer"] == "lantern"


def test_everybodys_year_is_written_to_a_folder(run, tmp_path):
    done = run("summary", "--all", "2025", "--format", "csv", "--output", str(tmp_path / "out"))

    assert done.exit_code == 0, done.output
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["anchor-2025.zip", "lantern-2025.zip"]


@pytest.mark.parametrize("document", [("summary", "lantern"), ("fleet-year",)])
def test_the_same_as_of_gives_the_same_bytes(run, document):
    words = (*document, "2025", "--as-of", "2026-01-05T00:00:00Z", "--output", "-")
    first, again = (run(*words).stdout_bytes for _ in range(2))

    assert first == again != b""


def test_neither_or_both_of_customer_and_all_is_refused(run):
    assert [run("summary", *words, "2025", "--output", "x").exit_code for words in ((), ("lantern", "--all"))] == [2, 2]


@pytest.mark.parametrize(
    ("form", "start"), [("json", b'{"year":2025'), ("csv", b"PK"), ("xlsx", b"PK"), ("pdf", b"%PDF-")]
)
def test_the_fleet_year_is_written_in_every_form(run, tmp_path, form, start):
    done = run("fleet-year", "2025", "--format", form, "--output", str(tmp_path / "year"))

    assert done.exit_code == 0, done.output
    assert (tmp_path / "year").read_bytes().startswith(start)


@pytest.mark.parametrize("words", [("summary", "nobody", "2025"), ("fleet-year", "2199")])
def test_an_unknown_customer_or_a_year_not_begun_is_refused_in_one_line(run, words):
    done = run(*words, "--output", "-")

    assert (done.exit_code, len(done.stderr.splitlines())) == (1, 1)


def test_the_document_comes_on_the_paper_asked_for(run, tmp_path):
    """ISO 216: A4 is 210 mm x 297 mm; ANSI Y14.1: letter is 8.5 in x 11 in. In points of 1/72 in."""
    for paper, size in (("a4", (595, 842)), ("letter", (612, 792))):
        file = tmp_path / f"{paper}.pdf"
        done = run("summary", "lantern", "2025", "--format", "pdf", "--paper", paper, "--output", str(file))

        assert done.exit_code == 0, done.output
        assert tuple(round(float(side)) for side in PdfReader(file).pages[0].mediabox[2:]) == size


@pytest.mark.parametrize("document", [("summary", "lantern"), ("fleet-year",)])
def test_paper_for_another_form_than_pdf_is_refused(run, document):
    done = run(*document, "2025", "--format", "csv", "--paper", "a4", "--output", "-")

    assert (done.exit_code, "only the PDF" in done.stderr) == (2, True)


def test_an_instant_in_the_future_is_refused(run):
    done = run("summary", "lantern", "2025", "--as-of", "2199-01-01T00:00:00Z", "--output", "-")

    assert (done.exit_code, "in the future" in done.stderr) == (2, True)
