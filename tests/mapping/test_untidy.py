"""Three untidy files of an invented company, 60 units and three years, go in whole with few answers, and go in once."""

from collections import Counter
from datetime import date
from typing import Any

import pytest

from service.mapping import file
from tests.mapping import untidy

COMPANY = untidy.company(units=16, sites=9)
BOOKS = {
    "a sheet for each customer": (untidy.a_sheet_each, {"time_zone": "America/Denver"}),
    "one long log": (untidy.one_long_log, {"time_zone": "America/Denver", "units__glycol_strength": "Brix"}),
    "an export of accounts": (untidy.accounts_export, {"time_zone": "America/Denver"}),
}


def found(visits: list[dict[str, Any]], *, readings: bool) -> Counter[Any]:
    """What is stored of each visit, in the form of `truth`."""
    return Counter(
        (
            visit["unit"],
            visit["arrived_at"][:10],
            tuple((r["quantity"], r["value"]) for r in visit.get("readings", ())) if readings else (),
            bool(visit.get("tasks")) if readings else False,
            tuple(part["component"] for part in visit.get("replacements", ())),
        )
        for visit in visits
    )


def truth(*, readings: bool) -> Counter[Any]:
    """What was done."""
    components = {"pump": "pump-1", "power switch": "switch-1", "fan motor": "fan-1", "controller": "controller-1"}
    return Counter(
        (
            visit.tag,
            visit.day.isoformat(),
            (
                ("bath_temperature", f"{visit.bath} degF"),
                *((("glycol_strength", f"{visit.brix:g} Brix"),) if visit.brix is not None else ()),
            )
            if readings
            else (),
            visit.cleaned if readings else False,
            (components[visit.part],) if visit.part else (),
        )
        for visit in COMPANY.visits
    )


@pytest.mark.parametrize("name", BOOKS)
def test_it_goes_in_as_it_was_and_once(office, name):
    write, answers = BOOKS[name]
    raw = write(COMPANY)
    guessed = office.guess(raw, **answers)
    assert guessed.questions == []
    mapping = file.dump(guessed.mapping, guessed.remarks)

    shown = office.bring_in(raw, mapping, dry_run=True)
    assert shown.plan.faults == []
    assert office.records() == []

    stored = office.bring_in(raw, mapping, expected=shown.plan.key)
    assert stored.tally.added == shown.tally.added
    readings = name != "an export of accounts"
    assert found(office.visits(), readings=readings) == truth(readings=readings)

    before = office.records()
    again = office.bring_in(raw, mapping)
    assert (again.tally.added, again.tally.changed) == (Counter(), Counter())
    assert office.records() == before


def test_accounts_after_a_list_of_units_find_them_by_name_and_by_the_tag_in_the_text(office):
    units = untidy.unit_list(COMPANY)
    guessed = office.guess(units, time_zone="America/Denver")
    office.bring_in(units, file.dump(guessed.mapping, {}))
    raw = untidy.accounts_export(COMPANY)
    guessed = office.guess(raw)
    assert guessed.questions == []

    done = office.bring_in(raw, file.dump(guessed.mapping, {}))

    assert done.plan.faults == []
    assert found(office.visits(), readings=False) == truth(readings=False)


def test_a_unit_is_in_our_care_from_its_first_visit(office):
    raw = untidy.a_sheet_each(COMPANY)
    guessed = office.guess(raw, time_zone="America/Denver")
    office.bring_in(raw, file.dump(guessed.mapping, {}))

    first: dict[str, date] = {}
    for visit in COMPANY.visits:
        first.setdefault(visit.tag, visit.day)
    units = {record["tag"]: record["registered_on"] for record in office.records() if record["record"] == "unit"}
    assert units == {tag: day.isoformat() for tag, day in first.items()}
