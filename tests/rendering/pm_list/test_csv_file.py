import csv
import io

from service.rendering.pm_list.csv_file import render

HEADER = [
    "due_on", "days_overdue", "status", "site", "site_name", "customer", "customer_name", "phone", "address", "access",
    "time_zone", "today", "latitude", "longitude", "technician", "unit", "place", "maker", "model", "task", "task_name",
    "basis", "why", "interval", "last_done_on", "minutes", "bring", "cautions", "root_causes",
    "class", "call", "includes", "assigned_day",
]  # fmt: skip


def read(content):
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline=""), strict=True))


def test_starts_with_a_byte_order_mark(day):
    assert render(day).startswith(b"\xef\xbb\xbf")


def test_the_header_stays_as_spreadsheets_and_scripts_know_it(day):
    assert list(read(render(day))[0]) == HEADER


def test_every_record_ends_in_crlf(day):
    # RFC 4180 section 2, rule 1; this list has no line break inside a field
    lines = render(day).split(b"\r\n")

    assert (len(lines), lines[-1]) == (1 + 4 + 1, b"")
    assert not [line for line in lines if b"\n" in line or b"\r" in line]


def test_doubles_a_quote_inside_a_field(listed, row):
    # RFC 4180 section 2, rule 7: "aaa","b""bb","ccc"
    assert b'"b""bb"' in render(listed((row(place='b"bb'),)))


def test_has_one_row_an_item(day):
    found = [(line["unit"], line["task"], line["days_overdue"]) for line in read(render(day))]

    assert found == [
        ("GU-0007", "condenser_clean", "12"),
        ("GU-0007", "pump_check", "0"),
        ("GU-0008", "condenser_clean", "-5"),
        ("GU-0011", "condenser_clean", "0"),
    ]


def test_numbers_stand_bare_and_unguarded(listed, row):
    content = render(listed((row(due_on="2026-06-14"),)))

    assert b',-5,"due_soon",' in content
    assert b",39.74,-104.99," in content


def test_what_is_not_known_is_empty(day):
    ferry = read(render(day))[-1]

    assert [ferry[name] for name in ("phone", "address", "latitude", "technician")] == [""] * 4


def test_keeps_things_apart_that_contain_commas(listed, row, task):
    tasks = (task(bring=("glycol, mixed", "wipes"), cautions=("Stop; lock out.", "Wear gloves.")),)

    line = read(render(listed((row(),), tasks=tasks)))[0]

    assert line["bring"].split(" | ") == ["glycol, mixed", "wipes"]
    assert line["cautions"].split(" | ") == ["Stop; lock out.", "Wear gloves."]


def test_an_empty_list_is_a_header(listed):
    assert render(listed()).decode("utf-8-sig").rstrip().replace('"', "").split(",") == HEADER


def test_no_cell_reads_as_a_formula(hostile_list):
    cells = read(render(hostile_list))[0]
    numbers = {"days_overdue", "latitude", "longitude", "minutes"}

    starts = {cell.lstrip(" \u00a0")[:1] for name, cell in cells.items() if name not in numbers}
    assert not starts & set("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")


def test_whatever_was_typed_comes_back_without_the_apostrophe(hostile_list, hostile):
    cells = read(render(hostile_list))[0]

    for name in ("why", "unit", "place", "site_name", "address", "phone", "technician", "task_name", "bring"):
        assert cells[name].removeprefix("'") == hostile


def test_names_a_root_cause_on_each_row_of_the_unit(failing):
    texts = [row["root_causes"] for row in read(render(failing))]

    assert texts == [texts[0], texts[0], "", ""]
    assert texts[0].startswith("power switch keeps failing")
