"""A table and its mapping: what is stored of each row, what is refused by its cell, and what is kept to work off."""

import csv
from collections import Counter
from io import BytesIO, StringIO

import openpyxl
import pytest

from service.domain.errors import Invalid
from service.mapping import file, report, template
from service.mapping.run import PlanChanged
from service.workbooks.opening import read_book
from tests.workbook import workbook

LIST = """
[[table]]
sheets = ["Units"]
creates = ["customer", "site", "unit"]
[table.columns]
"Tag" = "unit.tag"
"Customer" = "customer.name"
"Where" = "unit.place"
"""
LOG = """
[[table]]
sheets = ["Log"]
creates = ["technician"]
[table.columns]
"Date" = "visit.date"
"Unit" = "unit.tag"
"Bath" = "reading.bath_temperature"
"Who" = "visit.technician"
"Note" = { "to" = "visit.internal_note", "read_text" = true }
"""
HEAD = 'version = 1\ntime_zone = "America/Denver"\n'
UNITS = [
    ["Tag", "Customer", "Where"],
    ["GU-0001", "The Lantern Room", "upstairs"],
    ["GU-0012", "The Lantern Room", "basement"],
    ["GU-0003", "Heron Tap", "patio"],
]
TOP = ["Date", "Unit", "Bath", "Who", "Note"]


def log(*rows):
    return workbook(Units=UNITS, Log=[TOP, *rows])


def mapping(more="", tables=LIST + LOG):
    return HEAD + more + tables


def faults_of(done):
    """The faults as (cell, message)."""
    return [(each.source.place, each.message) for each in done.plan.faults]


def test_a_row_becomes_a_visit_at_noon_of_the_site_and_the_note_says_so(office):
    office.bring_in(log(["2024-03-14", "gu 1", "28 F", "Rhea & Tobin", "all good"]), mapping())

    (visit,) = office.visits()
    assert visit["unit"] == "GU-0001"
    assert visit["arrived_at"] == "2024-03-14T12:00:00-06:00"
    assert (visit["technician"], visit["crew"]) == ("rhea", ["tobin"])
    assert visit["readings"] == [
        {"quantity": "bath_temperature", "value": "28 degF", "when": "as_found", "evidence": "seen"}
    ]
    assert visit["internal_note"] == "The time of day was not recorded; 12:00 stands for it.\nall good"


def test_faults_have_their_sheet_row_and_column_and_nothing_is_stored(office):
    done = office.bring_in(
        log(
            ["3/4/24", "GU-0001", "28 F", None, None],
            ["2024-03-14", "GU-0012", "28", None, None],
            ["2024-03-15", "GU-O012", "28 F", None, None],
            ["2024-03-16", "GU-0003", "280 F", None, None],
            ["2031-01-01", "GU-0003", "28 F", None, None],
            [None, "GU-0003", "28 F", None, None],
        ),
        mapping(),
    )

    assert faults_of(done) == [
        ("A2", "'3/4/24' can be 2024-04-03 or 2024-03-04; write the order of dates with '/'"),
        ("A6", "2031-01-01 is after today, 2026-06-09; check the year"),
        ("row 7", "has no date"),
        ("B4", "there is no unit 'GU-O012'. Did you mean 'GU-0012'?"),
        ("C5", "visit, readings.0.value: bath_temperature must be from -40 degF to 140 degF"),
    ]
    assert [(r.source.place, r.level) for r in done.plan.remarks if r.given == "28"] == [("C3", "kept as a note")]
    assert not done.stored
    assert office.records() == []


def test_valid_rows_are_kept_when_asked_and_the_corrected_ones_follow(office):
    rows = [["2024-03-14", "GU-0001", "28 F", None, None], ["2024-03-15", "GU-9999", "28 F", None, None]]
    done = office.bring_in(log(*rows), mapping(), keep_good=True)
    assert (done.stored, done.tally.added["visit"]) == (True, 1)

    rows[1][1] = "GU-0012"
    again = office.bring_in(log(*rows), mapping())

    assert (again.tally.added, again.tally.unchanged["visit"]) == (Counter(visit=1), 1)


def test_rows_in_another_order_are_the_same_visits(office):
    rows = [["2024-03-14", "GU-0001", "28 F", None, "a"], ["2024-03-15", "GU-0012", "29 F", None, "b"]]
    office.bring_in(log(*rows), mapping())

    again = office.bring_in(log(*rows[::-1]), mapping())

    assert again.tally.added == Counter()
    assert again.tally.unchanged["visit"] == 2


def test_a_row_that_stands_twice_is_one_visit_and_is_listed(office):
    row = ["2024-03-14", "GU-0001", "28 F", None, "a"]

    done = office.bring_in(log(row, row), mapping())

    assert done.tally.added["visit"] == 1
    assert [r.source.place for r in done.plan.remarks if "twice" in r.message] == ["row 3"]


def test_a_visit_that_says_something_else_the_second_time_is_refused(office):
    office.bring_in(log(["2024-03-14", "GU-0001", "28 F", None, "a"]), mapping())

    again = office.bring_in(log(["2024-03-14", "GU-0001", "31 F", None, "a"]), mapping())

    assert ["already stored with other content" in message for _, message in faults_of(again)] == [True]


def test_aliases_units_and_orders_of_the_mapping_count(office):
    more = '[dates]\n"/" = "day first"\n[units]\nbath_temperature = "degC"\n[aliases.unit]\n"old one" = "GU-0012"\n'

    office.bring_in(log(["3/4/24", "old one", -2, None, None]), mapping(more))

    (visit,) = office.visits()
    assert (visit["unit"], visit["arrived_at"][:10]) == ("GU-0012", "2024-04-03")
    assert visit["readings"][0]["value"] == "-2 degC"


def test_both_orders_in_one_column_are_settled_by_the_rows_around_or_refused(office):
    rows = [["28.2.24"], ["3/1/24"], ["3/14/24"], ["4/5/24"], ["4/12/24"], ["14/5/24"]]
    raw = log(*([day[0], "GU-0001", "28 F", None, None] for day in rows))
    done = office.bring_in(raw, mapping('[dates]\n"/" = "by neighbours"\n'), keep_good=True)

    ((place, message),) = faults_of(done)
    assert (place, "do not settle it" in message) == ("A5", True)
    assert [visit["arrived_at"][:10] for visit in office.visits()] == [
        "2024-02-28", "2024-03-01", "2024-03-14", "2024-04-12", "2024-05-14",
    ]  # fmt: skip
    assert [r.message for r in done.plan.remarks if r.level == "to check"] == [
        "read as 2024-03-01 by the rows around it",
        "read as 2024-04-12 by the rows around it",
    ]


def test_a_day_far_from_those_around_it_is_listed(office):
    days = ["2024-11-05", "2024-11-20", "2024-12-01", "2024-12-20", "2024-01-05", "2025-01-20", "2025-02-01"]
    days += [f"2025-03-{n:02}" for n in range(1, 20)]
    done = office.bring_in(log(*([day, "GU-0001", "28 F", None, None] for day in days)), mapping())

    checks = [(r.source.place, r.message) for r in done.plan.remarks if r.level == "to check"]
    assert checks == [("A6", "2024-01-05 is far from the rows around it, 2024-12-20 and 2025-01-20; check the year")]


def test_only_what_was_done_is_taken_out_of_a_note(office):
    notes = {
        "replaced pump, it had seized": ["pump-1"],
        "needs a new pump, quoted": [],
        "ordered a switch": [],
        "told them the compressor is going": [],
        "owner replaced the switch himself": [],
        "installed new fan motor": ["fan-1"],
    }
    rows = [[f"2024-03-{n:02}", "GU-0001", None, None, note] for n, note in enumerate(notes, 1)]

    office.bring_in(log(*rows), mapping())

    found = [[part["component"] for part in visit.get("replacements", ())] for visit in office.visits()]
    assert found == list(notes.values())


def test_a_site_with_one_unit_needs_no_tag_and_one_with_two_does(office):
    tables = (
        LIST
        + """
[[table]]
sheets = ["Log"]
[table.columns]
"Date" = "visit.date"
"Bar" = "customer.name"
"Spot" = "unit.place"
"""
    )
    rows = [
        ["Date", "Bar", "Spot"],
        ["2024-03-14", "heron tap", None],
        ["2024-03-15", "Lantern Room", "Basement"],
        ["2024-03-16", "Lantern Room", None],
    ]

    done = office.bring_in(workbook(Units=UNITS, Log=rows), mapping(tables=tables), keep_good=True)

    assert [visit["unit"] for visit in office.visits()] == ["GU-0003", "GU-0012"]
    assert faults_of(done) == [("B4", "the-lantern-room has 2 units (GU-0001, GU-0012); name the unit")]


def test_a_unit_in_a_row_without_a_customer_is_refused_with_what_to_write_in_the_mapping(office):
    units = [UNITS[0], UNITS[1], ["GU-0012", None, "basement"]]
    done = office.bring_in(workbook(Units=units), mapping(tables=LIST))
    above = LIST.replace('"customer.name"', '{ to = "customer.name", blank = "above" }')

    assert [(cell, 'blank = "above"' in message) for cell, message in faults_of(done)] == [("A3", True)]
    assert faults_of(office.bring_in(workbook(Units=units), mapping(tables=above))) == []


def test_a_row_that_names_no_unit_adds_none_to_a_site_that_has_one_in_a_later_row(office):
    table = """
[[table]]
sheets = ["Log"]
creates = ["customer", "site", "unit"]
[table.columns]
"Date" = "visit.date"
"Bar" = "site.name"
"Unit" = "unit.tag"
"""
    rows = [["Date", "Bar", "Unit"], ["2024-03-14", "The Otter", None], ["2024-03-15", "The Otter", "GU-0502"]]

    office.bring_in(workbook(Log=rows), mapping(tables=table))

    assert [visit["unit"] for visit in office.visits()] == ["GU-0502", "GU-0502"]


def test_tables_below_each_other_sections_and_years_are_read(office):
    tables = (
        LIST
        + """
[[table]]
sheets = ["Log"]
section = "unit.tag"
[table.columns]
"Date" = "visit.date"
"Bath F" = { "to" = "reading.bath_temperature", "unit" = "degF" }
"""
    )
    rows = [
        ["Everything about our units"], ["Date", "Bath F"], ["2024"], ["GU-0001"], ["3 Mar", 28], ["4 Apr", 29],
        [], ["Date", "Bath F"], ["GU-0003"], ["5 May", 30],
    ]  # fmt: skip

    done = office.bring_in(workbook(Units=UNITS, Log=rows), mapping(tables=tables))

    assert faults_of(done) == []
    assert [(visit["unit"], visit["arrived_at"][:10]) for visit in office.visits()] == [
        ("GU-0001", "2024-03-03"), ("GU-0001", "2024-04-04"), ("GU-0003", "2024-05-05"),
    ]  # fmt: skip


def test_the_plan_of_the_dry_run_is_what_is_imported_or_nothing(office):
    raw = log(["2024-03-14", "GU-0001", "28 F", None, None])
    shown = office.bring_in(raw, mapping(), dry_run=True)

    with pytest.raises(PlanChanged, match="Look at a new dry run"):
        office.bring_in(log(["2024-03-14", "GU-0001", "29 F", None, None]), mapping(), expected=shown.plan.key)

    assert office.records() == []
    assert office.bring_in(raw, mapping(), expected=shown.plan.key).stored


def test_what_is_not_imported_is_in_the_file_to_work_off(office):
    raw = workbook(
        Units=UNITS,
        Log=[["Coldline log"], [*TOP, "Smell"], ["2024-03-14", "GU-0001", "ok", None, "=1+1", "odd"]],
        Prices=[["pump", 120]],
    )
    done = office.bring_in(raw, mapping())

    rows = list(csv.DictReader(StringIO(report.left_over(done.plan).decode("utf-8-sig"))))

    found = {(row["sheet"], row["cell"]): (row["what"], row["text"]) for row in rows}
    assert found["Log", "C3"] == ("kept as a note", "ok")
    assert found["Log", "F3"] == ("not imported", "odd")
    assert found["Log", "A1"] == ("not imported", "Coldline log")
    assert found["Prices", ""][0] == "not imported"
    assert "Bath: ok" in office.visits()[0]["internal_note"]


def test_a_mapping_with_faults_or_open_questions_is_refused_by_its_path(office):
    raw = log(["2024-03-14", "GU-0001", "28 F", None, None])
    for text, path in (
        ('version = 1\ntable = []\nvisit_tine = "12:00"\n', "visit_tine"),
        (mapping(tables=LOG.replace("visit.date", "visit.dat")), "table.0.columns.Date"),
        (mapping('[dates]\n"/" = "?"\n'), "mapping.dates./"),
        ("version = 1\n[[table", "mapping"),
    ):
        with pytest.raises(Invalid) as caught:
            office.bring_in(raw, text)
        assert path in [fault.field for fault in caught.value.faults]


def test_a_mapping_is_written_as_it_is_read(office):
    raw = log(["3/4/24", "GU-0001", 28, "Rhea", 'he said "bath 28"'])
    made = office.guess(raw)

    assert file.load(file.dump(made.mapping, made.remarks)) == made.mapping
    assert {question.path for question in made.questions} == {"time_zone", "dates./"}


def filled_template():
    made = openpyxl.load_workbook(BytesIO(template.workbook()))
    for form in template.FORMS:
        sheet = made[form.name]
        for cell in sheet[3]:
            text = str(cell.value or "").removeprefix(template.EXAMPLE)
            cell.value = text or None
    written = BytesIO()
    made.save(written)
    return written.getvalue()


def test_the_template_with_its_examples_goes_in_as_they_are_and_once(office):
    raw = filled_template()
    assert template.is_template(read_book(raw))
    text = file.dump(template.mapping(), {})
    assert file.load(text) == template.mapping()

    done = office.bring_in(raw, text)

    assert faults_of(done) == []
    assert done.tally.added == Counter(customer=1, technician=1, site=1, unit=1, visit=1)
    (visit,) = office.visits()
    assert (visit["unit"], visit["arrived_at"]) == ("GU-0007", "2026-03-14T14:30:00-06:00")
    assert [part["component"] for part in visit["replacements"]] == ["pump-1"]
    again = office.bring_in(raw, text)
    assert (again.tally.added, again.tally.changed) == (Counter(), Counter())


def test_the_empty_template_holds_nothing(office):
    done = office.bring_in(template.workbook(), file.dump(template.mapping(), {}))

    assert (done.plan.records, faults_of(done)) == ([], [])
