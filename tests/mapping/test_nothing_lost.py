"""Whatever stands in a file is imported, or listed with its cell and the reason why not."""

from io import BytesIO

import openpyxl
import pytest

from tests.workbook import workbook

HEAD = 'version = 1\ntime_zone = "Europe/Vienna"\n[units]\nbath_temperature = "degC"\n'
CLIENTS = """
[[table]]
sheets = ["Clients"]
creates = ["customer", "site"]
[table.columns]
"Client" = "customer.name"
"Phone" = "customer.phone"
"Fee" = "note"
"Margin" = "skip"
"""
UNITS = """
[[table]]
sheets = ["Chillers"]
creates = ["unit"]
[table.columns]
"Client" = "customer.name"
"Tag" = "unit.tag"
"Serial" = "unit.serial"
"Installed" = "unit.installed_on"
"""
ROUNDS = """
[[table]]
sheets = ["Rounds"]
creates = ["technician"]
section = "customer.name"
labels = { "Phone" = "customer.phone" }
[table.columns]
"Day" = "visit.date"
"Chiller" = "unit.tag"
"Bath" = "reading.bath_temperature"
"Trouble" = "visit.complaint"
"Kind" = "visit.symptom"
"Parts" = "visit.part_used"
"Serial" = "unit.serial"
"Item" = "replacement.item.serial"
"""
CLIENT_ROWS = [
    ["Client", "Phone", "Fee", "Margin"],
    ["Quarry Arms", 5550142, "€ 45,00", 12],
    ["Tern & Tide", None, None, 9],
    [None, 4155550102.0, None, None],
    ["Total", None, 90, None],
]
CHILLER_ROWS = [
    ["Client", "Tag", "Serial", "Installed"],
    ["Quarry Arms", "QT-1", "771", "unknown"],
    ["Tern & Tide", "QT-2", "n/a", "2021-05-02"],
    ["Tern & Tide", "QT-3", "773", None],
]
TOP = ["Day", "Chiller", "Bath", "Trouble", "Kind", "Parts", "Serial", "Item"]


@pytest.fixture
def brought_in(office):
    """Import the rounds of an invented shop, and give what was done."""

    def bring_in(*rows):
        book = workbook(Clients=CLIENT_ROWS, Chillers=CHILLER_ROWS, Rounds=rows)
        return office.bring_in(book, HEAD + CLIENTS + UNITS + ROUNDS)

    return bring_in


def remarks(done, sheet):
    return [(each.source.place, each.level, each.message) for each in done.plan.remarks if each.source.sheet == sheet]


def test_a_list_gives_no_customer_for_a_total_and_lists_what_has_no_field(office, brought_in):
    done = brought_in()

    assert done.plan.faults == []
    assert [record["name"] for record in office.records() if record["record"] == "customer"] == [
        "Quarry Arms",
        "Tern & Tide",
    ]
    assert sorted(remarks(done, "Clients")) == [
        ("C2", "not imported", "there is no field for 'Fee'"),
        ("D1", "not imported", "2 cells below: the mapping skips the column"),
        ("row 4", "not imported", "names no customer, site, unit or technician"),
        ("row 5", "not imported", "a total"),
    ]


def test_unknown_stands_for_no_value(brought_in):
    done = brought_in()

    assert remarks(done, "Chillers") == [
        ("D2", "not imported", "unit.installed_on: stands for what is not known"),
        ("C3", "not imported", "unit.serial: stands for what is not known"),
    ]


def test_cells_that_a_table_may_not_import_are_listed(brought_in):
    done = brought_in(["Phone", "555-0188", "ask for Lena"], TOP, ["2026-03-14", "QT-1", -2, *[None] * 3, "99", "S-5"])

    assert sorted(remarks(done, "Rounds")) == [
        ("C1", "not imported", "beside labels"),
        ("G3", "not imported", "unit.serial: this table may not add or change a unit; name it under creates"),
        ("H3", "not imported", "a replacement is named by its component, kind or note"),
        ("row 0", "not imported", "customer.phone: this table may not add or change a customer; name it under creates"),
    ]


def test_a_heading_of_a_section_without_rows_is_listed(brought_in):
    done = brought_in(["Quarry Arms"], TOP, ["2026-03-14", "QT-1", -2], ["order two pumps"])

    assert remarks(done, "Rounds") == [("A4", "not imported", "no row stands under it")]


def test_what_two_rows_of_one_visit_say_differently_is_kept_and_listed(office, brought_in):
    first = ["2026-03-14", "QT-1", -2, "warm beer", "warm_pour", "-"]
    done = brought_in(TOP, first, ["2026-03-14", "QT-1", -1, "noisy", "other", "fuse"])

    (visit,) = office.visits()
    assert visit["complaint"]["words"] == "warm beer"
    assert "Trouble: noisy" in visit["internal_note"].split("\n")
    assert [part["description"] for part in visit["parts_used"]] == ["fuse"]
    assert ("D3", "kept as a note", "another row of the visit gives its complaint otherwise") in remarks(done, "Rounds")
    assert remarks(done, "Rounds")[0] == (
        "row 3",
        "to check",
        "one visit with row 2: the same unit and day; a time or number keeps them apart",
    )


def test_a_unit_of_another_customer_is_to_check(office, brought_in):
    done = brought_in(["Tern & Tide"], TOP, ["2026-03-14", "QT-1", -2], ["Nobody's Inn"], ["2026-03-15", "QT-1", -2])

    assert [visit["unit"] for visit in office.visits()] == ["QT-1", "QT-1"]
    assert remarks(done, "Rounds") == [
        ("B3", "to check", "QT-1 belongs to quarry-arms, not to tern-tide; the visit is recorded at QT-1"),
        ("A5", "to check", 'there is no customer "Nobody\'s Inn". The unit alone counts.'),
    ]


def test_a_doubted_reading_is_recorded_with_its_doubt(office, brought_in):
    done = brought_in(TOP, ["2026-03-14", "QT-1", "-2?"])

    (visit,) = office.visits()
    assert visit["readings"][0]["value"] == "-2 degC"
    assert visit["internal_note"].split("\n")[1:] == ["Bath: -2?"]
    assert [level for _, level, _ in remarks(done, "Rounds")] == ["kept as a note"]


def test_a_text_alone_in_the_column_of_days_is_listed_and_stops_nothing(office):
    made = openpyxl.Workbook()
    for row in (
        ["Day", "Chiller", "Note"],
        ["closed at Easter"],
        ["closed again", "QT-1", "ok"],
        ["2026-02-31"],
        ["Total"],
    ):
        made.active.append(row)
    written = BytesIO()
    made.save(written)
    table = '"Day" = "visit.date"\n"Chiller" = "unit.tag"\n"Note" = "visit.work"\n'
    mapping = f'{HEAD}[[table]]\nsheets = ["Sheet"]\n[table.columns]\n{table}'

    assert remarks(office.bring_in(written.getvalue(), mapping), "Sheet") == [
        ("A2", "not imported", "a text alone in its row"),
        ("A3", "fault", "'closed again' is not a day; write it as 2026-03-14"),
        ("A4", "fault", "'2026-02-31' is not a day of the calendar"),
        ("A5", "not imported", "a total"),
    ]


TEXT_ALONE = 'unit_in_text = ["QT-#"]\n[table.columns]\n"Day" = "visit.date"\n"Note" = "visit.work"\n'
OF_UNITS = (
    '[table.columns]\n"Day" = "visit.date"\n"Unit" = "unit.tag"\n'
    '"Bath" = { to = "reading.bath_temperature", unit = "degF" }\n'
    '"Note" = { to = "visit.work", read_text = true }\n'
)


def of_units(office, table, *rows):
    """Import rows for the units QT-1, QT-2 and QT-3."""
    made = openpyxl.Workbook()
    for row in (["Tag", "Customer"], ["QT-1", "Pier"], ["QT-2", "Pier"], ["QT-3", "Pier"]):
        made.active.append(row)
    log = made.create_sheet("Log")
    for row in rows:
        log.append(row)
    written = BytesIO()
    made.save(written)
    units = '[[table]]\nsheets = ["Sheet"]\ncreates = ["customer", "site", "unit"]\n'
    units += '[table.columns]\n"Tag" = "unit.tag"\n"Customer" = "customer.name"\n'
    return office.bring_in(written.getvalue(), f'{HEAD}{units}[[table]]\nsheets = ["Log"]\n{table}')


def test_a_row_that_names_several_units_is_a_visit_of_each(office):
    rows = (["Day", "Unit", "Bath", "Note"], ["2026-03-14", "QT-1, QT 2", None, "cleaned both condensers"])
    done = of_units(office, OF_UNITS, *rows, ["2026-03-15", "QT-1/3", None, "checked"])

    assert done.plan.faults == []
    assert {(v["unit"], v["arrived_at"][:10], v["work"]) for v in office.visits()} == {
        ("QT-1", "2026-03-14", "cleaned both condensers"), ("QT-2", "2026-03-14", "cleaned both condensers"),
        ("QT-1", "2026-03-15", "checked"), ("QT-3", "2026-03-15", "checked"),
    }  # fmt: skip
    assert [(at, why) for at, _, why in remarks(done, "Log")] == [
        ("B2", "names 2 units: a visit of each"), ("B3", "names 2 units: a visit of each"),
    ]  # fmt: skip


def test_a_list_of_units_at_the_beginning_of_a_note_is_a_visit_of_each(office):
    of_units(office, TEXT_ALONE, ["Day", "Note"], ["2026-03-14", "QT-1 and QT 2 cleaned"])

    assert [visit["unit"] for visit in office.visits()] == ["QT-1", "QT-2"]


@pytest.mark.parametrize(
    ("unit", "bath", "note", "fault"),
    [
        ("QT-1, QT-2", 28, "ok", "names 2 units (QT-1, QT-2) and has a reading (bath temperature)"),
        ("QT-1, QT-2", None, "replaced pump", "names 2 units (QT-1, QT-2) and has a replacement (pump)"),
        ("QT-1, QT-9", None, "ok", "there is no unit 'QT-9'"),
    ],
)
def test_what_only_one_of_several_units_can_have_is_a_fault_that_says_how_to_write_it(office, unit, bath, note, fault):
    done = of_units(office, OF_UNITS, ["Day", "Unit", "Bath", "Note"], ["2026-03-14", unit, bath, note])

    assert [each.message[: len(fault)] for each in done.plan.faults] == [fault]
    assert office.visits() == []


def test_units_that_a_note_names_apart_are_a_fault(office):
    done = of_units(office, TEXT_ALONE, ["Day", "Note"], ["2026-03-14", "QT-1 fine, QT-2 leaks"])

    assert [each.message for each in done.plan.faults] == ["names 2 units (QT-1, QT-2); write a row for each"]
