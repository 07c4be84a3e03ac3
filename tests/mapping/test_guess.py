"""The first guess of a mapping: what headings and content show, and what is asked."""

from io import BytesIO

import openpyxl
import pytest

from service.mapping import file
from tests.workbook import workbook


def columns(guessed, n=0):
    return {heading: column.to for heading, column in guessed.mapping.tables[n].columns.items()}


def test_a_list_of_units_is_one(office):
    rows = [["Unit #", "Customer", "Mfr", "Model No.", "S/N", "Phone", "Date installed", "Gallons", "Remarks"]]
    rows += [
        [f"GU-{n}", "Heron Tap", "Norvane", "K4", f"{n}1", "555-01", "2021-05-02", 10, "spare key"] for n in range(1, 6)
    ]

    guessed = office.guess(workbook(Equipment=rows))

    assert columns(guessed) == {
        "Unit #": "unit.tag", "Customer": "customer.name", "Mfr": "unit.maker", "Model No.": "unit.model",
        "S/N": "unit.serial", "Phone": "customer.phone", "Date installed": "unit.installed_on",
        "Gallons": "unit.bath.volume", "Remarks": "note",
    }  # fmt: skip
    assert guessed.mapping.tables[0].creates == ("customer", "site", "unit")


@pytest.mark.parametrize(
    ("heading", "values", "to"),
    [
        ("Bath temp", [28, 29, 30], "reading.bath_temperature"),
        ("Glycol %", [33, 35, 34], "reading.glycol_strength"),
        ("Head psi", [180, 210, 190], "reading.discharge_pressure"),
        ("Volts", [115, 117, 114], "reading.supply_voltage"),
        ("Cond cleaned?", ["x", "X", "yes"], "task.condenser_clean"),
        ("Inv. No.", [4001, 4002, 4003], "visit.reference"),
        ("Serviced by", ["RS", "TM", "RS"], "visit.technician"),
        ("Amount", [120.5, 80, 99], "skip"),
        ("Weather", ["sunny", "rain", "rain"], "note"),
    ],
)
def test_a_column_of_a_log_is_found_by_heading_and_content(office, heading, values, to):
    rows = [["Date", "Unit", heading], *(["2024-03-1" + str(n), "GU-1", value] for n, value in enumerate(values))]

    assert columns(office.guess(workbook(Log=rows)))[heading] == to


@pytest.mark.parametrize(
    ("heading", "values", "to"),
    [
        ("Power pack #", ["PP-01", "PP-02", "PP-03"], "unit.tag"),
        ("Where it sits", ["roof", "basement", "keg cooler"], "unit.place"),
        ("Make / mod.", ["K4", "K5", "K4"], "unit.model"),
        ("Location / address", ["101 Main St", "102 Main St", "103 Main St"], "site.address"),
    ],
)
def test_a_column_of_a_list_of_units_is_found_by_its_heading(office, heading, values, to):
    tag = [] if to == "unit.tag" else ["Tag"]
    rows = [["Acct", *tag, heading], *(["Heron", *(f"GU-{n}" for _ in tag), value] for n, value in enumerate(values))]

    found = columns(office.guess(workbook(Units=rows)))[heading]
    assert found == to


def test_what_nobody_can_know_is_asked_and_the_rest_is_not(office):
    rows = [
        ["Date", "Bar", "Unit", "Bath", "Smell"],
        ["3/4/24", "Heron", "GU-1", 28, "no"],
        ["5/6/24", "Heron", "GU-1", 29, 2],
    ]

    guessed = office.guess(workbook(Log=rows))

    assert [question.path for question in guessed.questions] == ["time_zone", "dates./"]
    assert guessed.mapping.units == {"bath_temperature": "degF"}


@pytest.mark.parametrize(
    ("days", "order"),
    [
        (["3/4/24", "14/4/24"], "day first"),
        (["3/4/24", "4/14/24"], "month first"),
        (["14/4/24", "4/15/24", "4/16/24"], "by neighbours"),
    ],
)
def test_the_order_of_dates_is_what_the_days_prove(office, days, order):
    rows = [["Date", "Unit", "Note"], *([day, "GU-1", "ok"] for day in days)]

    assert office.guess(workbook(Log=rows)).mapping.dates == {"/": order}


def test_a_misspelt_tag_is_proposed_only_where_one_can_be_meant(office):
    units = [["Tag", "Customer", "Model"], *([f"GU-{n:04}", "Heron Tap", "K4"] for n in (1, 2, 11, 12))]
    written = ["GU-0001", "GV-0011", "G-0002", "GU-OO12", "#11", "GU-0021", "banana"]
    rows = [["Date", "Unit", "Note"], *([f"2024-03-1{n}", tag, "ok"] for n, tag in enumerate(written))]

    guessed = office.guess(workbook(Units=units, Log=rows))

    assert guessed.mapping.aliases == {
        "unit": {"GV-0011": "GU-0011", "G-0002": "GU-0002", "GU-OO12": "GU-0012", "#11": "GU-0011"}
    }


def test_east_is_not_proposed_for_west(office):
    units = [
        ["Tag", "Customer", "Model"],
        *([f"GU-{n}", name, "K4"] for n, name in ((1, "Tap Room East"), (2, "Mill House"))),
    ]
    rows = [
        ["Date", "Customer", "Note"],
        *([f"2024-03-1{n}", name, "ok"] for n, name in enumerate(("Tap Room West", "Mil House"))),
    ]

    guessed = office.guess(workbook(Units=units, Log=rows))

    assert guessed.mapping.aliases == {"customer": {"Mil House": "mill-house"}}


def test_copies_and_price_lists_are_left_out(office):
    rows = [["Date", "Unit", "Note"], ["2024-03-14", "GU-1", "ok"]]

    prices = [["Item", "Amount"], ["pump", 120]]
    guessed = office.guess(workbook(Log=rows, **{"Log (copy)": rows, "Price list": prices}))

    assert guessed.mapping.ignored_sheets == ("Log (copy)", "Price list")


def test_a_sheet_for_each_unit_with_labels_in_pairs(office):
    def sheet(tag, serial):
        return [
            ["Unit:", tag, None, "Customer:", "Hopyard"], ["Make", "Norvane", None, "Model", "K4"],
            ["Serial", serial], [],
            ["Visit date", "By", "Reservoir °F", "Cond. coil cleaned (Y/N)"], ["2024-03-14", "Ida", 28, "Y"],
        ]  # fmt: skip

    guessed = office.guess(workbook(**{"C-101": sheet("C-101", "771"), "C-102": sheet("C-102", "772")}))

    (table,) = guessed.mapping.tables
    assert table.labels == {
        "Unit": "unit.tag", "Customer": "customer.name", "Make": "unit.maker", "Model": "unit.model",
        "Serial": "unit.serial",
    }  # fmt: skip
    assert columns(guessed)["Cond. coil cleaned (Y/N)"] == "task.condenser_clean"


def test_tables_under_titles_in_one_sheet_keep_equal_numbers_of_units_apart(office):
    heading = ["Unit", "Date", "Bath F", "Remarks"]
    rows = [["Lakeside Inn"], heading, ["#1", "2025-01-10", 28, "ok"], ["#2", "2025-01-10", 29, "ok"], []]
    rows += [["Mill House"], heading, ["#1", "2025-01-11", 30, "ok"], ["#2", "2025-01-11", 31, "ok"]]
    raw = workbook(Route=rows)
    guessed = office.guess(raw, time_zone="America/Denver")

    done = office.bring_in(raw, file.dump(guessed.mapping, {}))

    assert (guessed.mapping.tables[0].section, done.plan.faults) == ("customer.name", [])
    assert [(visit["unit"], visit["readings"][0]["value"]) for visit in office.visits()] == [
        ("lakeside-inn-1", "28 degF"), ("lakeside-inn-2", "29 degF"),
        ("mill-house-1", "30 degF"), ("mill-house-2", "31 degF"),
    ]  # fmt: skip


def test_a_place_beside_the_customer_is_a_unit_and_a_note_goes_on_in_the_next_row(office):
    rows = [["Date", "Customer", "Location / unit", "Temp out", "Comments"]]
    rows += [["2024-03-14", "Otter Pub", "basement", 28, "ok"], ["2024-03-14", '"', "upstairs", 29, "dusty"]]
    rows += [[None, None, None, None, "lid was open"], ["TOTAL VISITS", 2, None, None, None]]
    raw = workbook(**{"2024": rows})
    guessed = office.guess(raw, time_zone="America/Denver")

    done = office.bring_in(raw, file.dump(guessed.mapping, {}))

    assert done.plan.faults == []
    notes = {visit["unit"]: visit["internal_note"].split("\n")[1:] for visit in office.visits()}
    assert notes == {"otter-pub-basement": ["ok"], "otter-pub-upstairs": ["dusty", "lid was open"]}


def test_invoices_with_a_list_of_customers_and_no_units_give_each_site_one(office):
    customers = [
        ["Cust ID", "Company", "Telephone"],
        ["C100", "Alder House", "555-01"],
        ["C101", "Birch Room", "555-02"],
    ]
    rows = [["Invoice #", "Inv Date", "Cust ID", "Item Code", "Item Description"]]
    for n in range(6):
        rows.append([5000 + n, f"2024-03-1{n}", f"C10{n % 2}", "GLY-PM", "Glycol chiller PM service"])
    rows.append([5005, "2024-03-15", "C101", "PRT-PUMP", "Circulating pump"])
    raw = workbook(**{"Customer list": customers, "Invoices": rows})
    guessed = office.guess(raw, time_zone="America/Denver")

    done = office.bring_in(raw, file.dump(guessed.mapping, {}))

    assert done.plan.faults == []
    assert [len(visit.get("replacements", ())) for visit in office.visits()] == [0, 0, 0, 0, 0, 1]
    assert {visit["unit"] for visit in office.visits()} == {"alder-house-1", "birch-room-1"}


def test_a_decimal_comma_in_the_texts_of_a_workbook_is_seen_and_numbers_are_readings(office):
    rows = [["Date", "Customer", "Unit", "Bath", "Return temp", "Arr", "Dep"]]
    rows += [["24.10.2026", "Ferry Inn", "KA 1", "-2,5", "0,5 °C", "0930", "10:15"]]
    rows += [["24.11.2025", "Ferry Inn", "KA 1", -3, "1,5 °C", "9:05", "10.00"]]
    raw = workbook(Rounds=rows[:1] + rows[2:] + [["24.12.2025", *rows[1][1:]]])
    guessed = office.guess(raw, time_zone="Europe/Berlin")
    mapping = guessed.mapping
    assert (mapping.decimal, mapping.dates, mapping.units) == (
        "comma",
        {".": "day first"},
        {"bath_temperature": "degC"},
    )

    done = office.bring_in(raw, file.dump(mapping, {}))

    assert done.plan.remarks == []
    found = [[reading["value"] for reading in visit["readings"]] for visit in office.visits()]
    assert found == [["-3 degC", "1.5 degC"], ["-2.5 degC", "0.5 degC"]]
    assert [visit["arrived_at"][11:16] for visit in office.visits()] == ["09:05", "09:30"]


def test_texts_that_stand_alone_in_a_column_of_notes_are_no_headings_of_sections(office):
    rows = [["What we did in 2025"], ["When", "Entry"], ["2025-03-02", "GU 12 bath 28F"], [None, "GU 15 topped up"]]
    rows += [["2025-03-05", "GU 13 coil cleaned"], ["9 visits"], ["order more filters"]]
    guessed = office.guess(workbook(Diary=rows))

    assert (guessed.mapping.tables[0].section, guessed.mapping.tables[0].unit_in_text) == (None, ("GU-#",))


def test_a_percentage_is_asked_about_as_it_is_shown(office):
    made = openpyxl.Workbook()
    for row in (["Date", "Unit", "Glycol"], ["2025-03-02", "GU-1", 0.35], ["2025-03-03", "GU-1", 0.3]):
        made.active.append(row)
    for place in ("C2", "C3"):
        made.active[place].number_format = "0%"
    written = BytesIO()
    made.save(written)

    (question,) = office.guess(written.getvalue()).questions

    assert "2 numbers of glycol strength have no unit: 30 to 35" in question.text


def test_a_name_is_no_alias_of_itself(office):
    units = [["Tag", "Customer", "Model"], ["GU-1", "Heron Tap", "K4"], ["GU-2", "Mill House", "K4"]]
    rows = [["Date", "Unit", "Customer", "Note"], ["2024-03-14", "GU-2", "Heron Tap", "ok"]]

    assert office.guess(workbook(Units=units, Log=rows)).mapping.aliases == {}


def test_one_number_without_a_unit_is_one(office):
    raw = workbook(Log=[["Date", "Unit", "Glycol"], ["2025-03-02", "GU-1", 35]])

    (question,) = office.guess(raw).questions

    assert "1 number of glycol strength has no unit: 35. " in question.text
