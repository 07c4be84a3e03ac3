"""glycol-fleet fleet-year: the fleet year to a file."""

import json

import pytest
from click.testing import CliRunner

from service.cli import main

RECORDS = [
    {"record": "customer", "code": "lantern", "name": "The Lantern Room"},
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


@pytest.mark.parametrize(
    ("form", "start"), [("json", b'{"year":2025'), ("csv", b"PK"), ("xlsx", b"PK"), ("pdf", b"%PDF-")]
)
def test_the_fleet_year_is_written_in_every_form(run, tmp_path, form, start):
    done = run("fleet-year", "2025", "--format", form, "--output", str(tmp_path / "year"))

    assert done.exit_code == 0, done.output
    assert (tmp_path / "year").read_bytes().startswith(start)


def test_the_same_as_of_gives_the_same_bytes(run):
    words = ("fleet-year", "2025", "--as-of", "2026-01-05T00:00:00Z", "--output", "-")
    first, again = (run(*words).stdout_bytes for _ in range(2))

    assert first == again != b""


def test_a_paper_size_but_of_the_pdf_is_refused(run):
    assert run("fleet-year", "2025", "--paper", "a4", "--output", "x").exit_code == 2


def test_a_year_not_begun_is_refused_in_one_line(run):
    done = run("fleet-year", "2199", "--output", "-")

    assert (done.exit_code, len(done.stderr.splitlines())) == (1, 1)
