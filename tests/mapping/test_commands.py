"""The commands for tables, as people type them."""

import csv
from io import StringIO

import openpyxl
import pytest
from click.testing import CliRunner

from service.cli import main

UNITS = "Tag,Customer,Where,Model\nGU-0001,Heron Tap,patio,K4\nGU-0002,Heron Tap,roof,K4\n"


@pytest.fixture
def run(tmp_path, monkeypatch):
    """Runs a command in a folder with a migrated database; gives its exit code and what it printed."""
    monkeypatch.chdir(tmp_path)
    environ = {"GLYCOL_FLEET_HOME": str(tmp_path), "GLYCOL_FLEET_DATABASE_URL": ""}

    def command(*words):
        done = CliRunner().invoke(main, words, env=environ)
        return done.exit_code, done.output

    assert command("migrate")[0] == 0
    (tmp_path / "units.csv").write_text(UNITS)
    return command


def test_guess_dry_run_import_and_import_again(run, tmp_path):
    code, output = run("import", "units.csv", "--guess", "--map", "units.toml")
    assert code == 1
    assert "To answer in it: time_zone" in output
    mapping = (tmp_path / "units.toml").read_text()
    assert mapping in output
    (tmp_path / "units.toml").write_text(mapping.replace('time_zone = "?"', 'time_zone = "America/Denver"'))

    code, output = run("import", "units.csv", "--map", "units.toml", "--dry-run")
    assert (code, "new: 1 customer, 1 site, 2 units" in output, "nothing was stored" in output) == (0, True, True)
    assert "new: 1 customer, 1 site, 2 units" in run("import", "units.csv", "--map", "units.toml")[1]
    assert "unchanged: 1 customer, 1 site, 2 units" in run("import", "units.csv", "--map", "units.toml")[1]


def test_a_mapping_that_is_there_is_kept(run, tmp_path):
    (tmp_path / "units.toml").write_text("mine")

    code, output = run("import", "units.csv", "--guess", "--map", "units.toml")

    assert (code, "exists already" in output, (tmp_path / "units.toml").read_text()) == (1, True, "mine")


def test_faults_are_printed_marked_and_listed(run, tmp_path):
    (tmp_path / "units.csv").write_text(UNITS + "GU-0003,,attic,K4\n")
    (tmp_path / "units.toml").write_text(
        'version = 1\ntime_zone = "America/Denver"\n[[table]]\nsheets = ["CSV"]\n'
        'creates = ["customer", "site", "unit"]\n'
        '[table.columns]\nTag = "unit.tag"\nCustomer = "customer.name"\nWhere = "unit.place"\n'
    )

    code, output = run(
        "import", "units.csv", "--map", "units.toml", "--left-over", "left.csv", "--marked", "marked.xlsx"
    )  # fmt: skip

    assert (code, "CSV A4: names no site or customer" in output, "Nothing was stored." in output) == (1, True, True)
    left = list(csv.DictReader(StringIO((tmp_path / "left.csv").read_text("utf-8-sig"))))
    assert [(row["cell"], row["what"]) for row in left][:2] == [("A4", "fault"), ("D2", "not imported")]
    assert "names no site" in openpyxl.load_workbook(tmp_path / "marked.xlsx").active["A4"].comment.text


def test_each_field_to_store_is_listed_with_its_cell(run, tmp_path):
    run("import", "units.csv", "--guess", "--map", "units.toml")
    mapping = (tmp_path / "units.toml").read_text().replace('time_zone = "?"', 'time_zone = "America/Denver"')
    (tmp_path / "units.toml").write_text(mapping)

    assert run("import", "units.csv", "--map", "units.toml", "--dry-run", "--records", "records.csv")[0] == 0

    rows = list(csv.DictReader(StringIO((tmp_path / "records.csv").read_text("utf-8-sig"))))
    found = {(row["kind"], row["field"], row["value"]): row["cell"] for row in rows}
    assert found["unit", "model", "K4"] == "D3"
    assert found["customer", "name", "Heron Tap"] == "B2"
    assert {row["kind"] for row in rows} == {"customer", "site", "unit"}


def test_the_template_is_written_once_and_imported_without_a_mapping(run):
    assert run("template", "mine.xlsx")[0] == 0
    assert run("template", "mine.xlsx")[0] == 1
    assert run("import", "mine.xlsx")[0] == 0


def test_a_table_without_a_mapping_and_a_file_that_is_none_are_refused_in_one_line(run, tmp_path):
    code, output = run("import", "units.csv")
    assert (code, output.count("\n"), "--guess" in output) == (1, 1, True)
    (tmp_path / "old.xls").write_bytes(bytes.fromhex("D0CF11E0A1B11AE1") + b"\x00" * 600)
    code, output = run("import", "old.xls")
    assert (code, "old .xls workbook" in output) == (1, True)


def test_options_of_tables_are_refused_for_json_lines(run, tmp_path):
    (tmp_path / "fleet.jsonl").write_text('{"record": "customer", "code": "heron", "name": "Heron"}\n')

    assert run("import", "fleet.jsonl", "--plan", "x")[0] == 2
    code, output = run("import", "fleet.jsonl", "--dry-run")
    assert (code, "added: 1 customer" in output, "nothing was stored" in output) == (0, True, True)
