"""A workbook with a sheet a year, two rows of headings, commas and typing errors, against what is true of it.

The workbook was invented before the code that reads it was read.
"""

from collections import Counter

import pytest

from service.mapping import file
from tests.mapping.year_sheets import BARS, units, visits, write
from tests.workbook import workbook

INITIALS = '"Mo" = "Mo Haddad"\n"JT" = "Jess Tarkin"\n"Bill" = "Bill Okafor"\n'
CORRECTIONS = (
    ('sheets = ["Machines"]', 'sheets = ["Machines"]\nskip_rows = ["---", "Total"]'),
    ("[aliases.unit]", f"[aliases.technician]\n{INITIALS}[aliases.unit]"),
)


def test_three_years_of_an_office_go_in_by_a_guess_and_four_corrections(office, tmp_path):
    write(tmp_path / "book.xlsx")
    raw = (tmp_path / "book.xlsx").read_bytes()
    mapping = file.dump(office.guess(raw, time_zone="America/New_York").mapping, {})
    for wrong, right in CORRECTIONS:
        assert mapping.count(wrong) == 1
        mapping = mapping.replace(wrong, right)
    done = office.bring_in(raw, mapping)

    assert done.plan.faults == []
    stored = Counter(record["record"] for record in office.records())
    assert (stored["customer"], stored["site"], stored["unit"]) == (10, len(BARS), len(units()))
    alone = [v for v in office.visits() if v["arrived_at"] and v["unit"] == "BW-201"]
    assert len(alone) >= sum(v["unit"]["tag"] == "BW-201" for v in visits())
    assert read(office) == read_of(visits())
    kept = {remark.given for remark in done.plan.remarks if remark.level == "not imported"}
    assert {"Quarry Hill", "2020", "Total February"} <= kept
    again = office.bring_in(raw, mapping)
    assert (sum(again.tally.added.values()), sum(again.tally.changed.values())) == (0, 0)


def read(office):
    """The suction pressures, which 2025 alone has, by unit and day."""
    return {
        (v["unit"], v["arrived_at"][:10], r["value"])
        for v in office.visits() for r in v.get("readings", ()) if r["quantity"] == "suction_pressure"
    }  # fmt: skip


def read_of(true):
    kept = [v for v in true if v["day"].year == 2025]
    return {
        (v["unit"]["tag"], v["day"].isoformat(), f"{v['suction']} psi")
        for n, v in enumerate(kept) if v["work"] != "no access, bar closed" and n % 17
    }  # fmt: skip


@pytest.mark.parametrize(
    ("text", "value"), [("28,5", "28.5 degF"), ("28.5°", "28.5 degF"), ("1,5 °C", "1.5 degC"), ("28,50", "28.50 degF")]
)
def test_a_comma_with_one_or_two_digits_is_a_decimal_one_beside_points(office, text, value):
    rows = [["Date", "Customer", "Unit", "Bath °F"], ["2026-03-14", "Pier", "QT-1", text]]
    raw = workbook(Log=[*rows, *(["2026-03-15", "Pier", "QT-1", f"{n}.5"] for n in range(27, 31))])
    guessed = office.guess(raw, time_zone="America/Denver")
    office.bring_in(raw, file.dump(guessed.mapping, {}))

    assert office.visits()[0]["readings"][0]["value"] == value
