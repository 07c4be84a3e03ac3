"""Three more untidy files go in by a guess and a few corrections; what was not understood is listed."""

from collections import Counter

import pytest

from service.mapping import file, report
from service.mapping.free_text import found_in
from tests.mapping import more_untidy
from tests.workbook import workbook

ZONE = "America/Denver"


def corrected(mapping: str, *corrections: tuple[str, str]) -> str:
    for wrong, right in corrections:
        assert mapping.count(wrong) == 1, (wrong, mapping)
        mapping = mapping.replace(wrong, right)
    return mapping


def stored_once(office, raw, mapping, **how):
    """What an import stores as its trial showed it; the same import again changes nothing."""
    tried = office.bring_in(raw, mapping, dry_run=True, **how)
    assert office.records() == []
    done = office.bring_in(raw, mapping, expected=tried.plan.key, **how)
    assert done.stored
    assert done.tally.added == tried.tally.added
    before = office.records()
    again = office.bring_in(raw, mapping, **how)
    assert (sum(again.tally.added.values()), sum(again.tally.changed.values())) == (0, 0)
    assert office.records() == before
    return done


def test_a_sheet_for_each_customer_goes_in_by_two_corrections(office):
    raw, rows = more_untidy.sheets_of_customers()
    mapping = file.dump(office.guess(raw, time_zone=ZONE).mapping, {})
    technicians = 'creates = ["customer", "site", "technician"]'
    mapping = corrected(mapping, (technicians, f'{technicians}\nskip_rows = ["Paid"]'))
    done = stored_once(office, raw, mapping)

    assert done.plan.faults == []
    counted = Counter(record["record"] for record in office.records())
    assert (counted["customer"], counted["visit"]) == (len(more_untidy.CUSTOMERS), rows)
    units = [record for record in office.records() if record["record"] == "unit"]
    assert {unit["place"] for unit in units} <= {"cellar", "roof", "behind bar"}
    read = [r for visit in office.visits() for r in visit.get("readings", ()) if r["quantity"] == "glycol_strength"]
    assert {r["value"] for r in read} == {"33 vol%", "34 vol%", "35 vol%"}  # and no 2 of "glycol 2 gal"
    listed = report.left_over(done.plan).decode()
    assert all(text in listed for text in ("summer 2018", "Paid up to Dec.", "n/a", "Price list"))


def test_a_diary_goes_in_by_three_corrections_and_what_names_no_unit_is_listed(office):
    raw, rows, unnamed = more_untidy.diary()
    mapping = file.dump(office.guess(raw, time_zone=ZONE, units__glycol_strength="vol%").mapping, {})
    mapping += '[aliases.site]\n"Mill hse" = "Mill House"\n'
    done = stored_once(office, raw, mapping, keep_good=True)

    faults = [remark for remark in done.plan.remarks if remark.level == "fault"]
    assert len(faults) == unnamed > 0
    assert all("name the unit" in remark.message for remark in faults)
    assert len({v["arrived_at"] for v in office.visits()}) == rows - unnamed
    assert {record["name"] for record in office.records() if record["record"] == "customer"} == {
        "The Heron", "Lantern Rm", "Mill House", "Copper Pot",
    }  # fmt: skip
    for visit in office.visits():
        said = f"{visit.get('work')} {visit.get('internal_note')}"
        assert bool(visit.get("replacements")) == ("swapped pump" in said), said


def test_a_ledger_goes_in_by_its_time_zone_alone(office):
    raw, sold = more_untidy.ledger()
    done = stored_once(office, raw, file.dump(office.guess(raw, time_zone=ZONE).mapping, {}))

    assert done.plan.faults == []
    parts = Counter(part["component"] for visit in office.visits() for part in visit.get("replacements", ()))
    tasks = Counter(task["task"] for visit in office.visits() for task in visit.get("tasks", ()))
    assert parts == {"fan-1": sold["P310"], "pump-1": sold["P320"]}
    assert tasks == {"condenser_clean": sold["L110"]}
    credited = [remark for remark in done.plan.remarks if "a credit" in remark.message]
    assert len(credited) > 0


@pytest.mark.parametrize(
    "text",
    [
        "topped up glycol 2 gal",
        "glycol 5 L added",
        "glycol 1 jug",
        "Pump was replaced by other firm",
        "pump replaced by others",
    ],
)
def test_an_amount_is_no_strength_and_the_work_of_others_is_not_ours(text):
    assert list(found_in(text)) == []


def test_a_customer_whose_name_begins_with_old_is_no_old_copy(office):
    log = [["Date", "Unit", "Work"], ["2025-03-02", "GU-1", "cleaned"]]

    mapping = office.guess(workbook(**{"Old Foundry": log, "Tin Roof": log, "Customers old": log})).mapping

    assert mapping.ignored_sheets == ("Customers old",)
