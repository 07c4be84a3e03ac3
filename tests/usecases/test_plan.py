"""Assignments laid over the entries of a list: who goes, on which day, and what is left for a later one."""

from datetime import date

import pytest

from service.domain.maintenance.list_order import CALL, Entry
from service.domain.record.fleet import Leave, Technician
from service.usecases.planning.plan import Days, laid_over, of_those_present

DENVER, AUCKLAND = "America/Denver", "Pacific/Auckland"
DAYS = Days(
    today_in={DENVER: date(2026, 6, 9), AUCKLAND: date(2026, 6, 10)},
    last_in={DENVER: "2026-06-11", AUCKLAND: "2026-06-12"},
    zones=frozenset({DENVER}),
)
USUAL, OTHER = 1, 2  # technicians
SITE, UNIT, ITEM = (7, None, None), (7, 70, None), (7, 70, "pump_check")


def entry(**changes) -> Entry:
    facts = {"site_id": 7, "unit_id": 70, "item": "pump_check", "key": (), "due_on": "2026-06-09", "minutes": 20}
    return Entry(**{**facts, "work": "pm", "zone": DENVER, "technician_id": USUAL, **changes})


def laid(*plan, **changes):
    """(technician, day) of the one entry, none where it is left for later."""
    found = laid_over([entry(**changes)], {each[:3]: each for each in plan}, DAYS)
    return [(each.technician_id, each.assigned_day) for each in found]


def test_the_last_day_is_that_of_the_zone_where_it_is_latest_and_at_sites_only_theirs() -> None:
    assert (DAYS.last, DAYS.last_at_sites) == ("2026-06-12", "2026-06-11")
    for zones in ((), (DENVER, AUCKLAND)):
        assert Days(DAYS.today_in, DAYS.last_in, frozenset(zones)).last_at_sites == "2026-06-12"


def test_without_an_assignment_an_entry_stays_as_it_is() -> None:
    assert laid() == [(USUAL, None)]
    assert laid((7, 71, None, OTHER, "2026-06-09", None), (8, 70, None, OTHER, "2026-06-09", None)) == [(USUAL, None)]


@pytest.mark.parametrize("target", [SITE, UNIT, ITEM])
def test_an_entry_goes_to_whom_its_site_unit_or_task_is_assigned(target) -> None:
    assert laid((*target, OTHER, "2026-06-09", None)) == [(OTHER, "2026-06-09")]
    assert laid((*target, OTHER, "2026-06-08", None)) == [(USUAL, None)]  # that day is over
    assert laid((*target, OTHER, "2026-06-11", None)) == [(OTHER, "2026-06-11")]  # the last day asked for
    assert laid((*target, OTHER, "2026-06-12", None)) == []


def test_the_closest_assignment_counts() -> None:
    plan = ((*SITE, 3, "2026-06-09", None), (*UNIT, 4, "2026-06-10", None), (*ITEM, 5, "2026-06-11", None))
    assert laid(*plan) == [(5, "2026-06-11")]
    assert laid(*plan[:2]) == [(4, "2026-06-10")]


@pytest.mark.parametrize("target", [SITE, UNIT, ITEM])
def test_what_is_postponed_beyond_the_last_day_is_left_out(target) -> None:
    assert laid((*target, None, None, "2026-06-12")) == []
    assert laid((*target, None, None, "2026-06-11")) == [(USUAL, None)]
    assert laid((*target, None, None, "2026-06-12"), zone=AUCKLAND) == [(USUAL, None)]


def test_an_open_call_stays_on_every_list() -> None:
    assert laid((*SITE, OTHER, "2026-06-12", None), work=CALL) == [(USUAL, None)]


def test_what_falls_due_after_the_day_of_its_site_or_unit_has_no_day() -> None:
    late = {"due_on": "2026-06-10"}
    assert laid((*SITE, OTHER, "2026-06-09", None), **late) == [(OTHER, None)]
    assert laid((*UNIT, OTHER, "2026-06-09", None), **late) == [(OTHER, None)]
    assert laid((*ITEM, OTHER, "2026-06-09", None), **late) == [(OTHER, "2026-06-09")]
    assert laid((*SITE, OTHER, "2026-06-09", None), begins="2026-06-09", **late) == [(OTHER, "2026-06-09")]


def test_nobody_is_named_who_is_away_on_the_day_at_the_site() -> None:
    """Who leaves on the 10th still goes on the 9th; on leave on the 9th one is back on the 10th."""
    who = {
        USUAL: Technician(code="ada", name="Ada", left_on=date(2026, 6, 10)),
        OTHER: Technician(code="bo", name="Bo", leave=(Leave(from_=date(2026, 6, 9), until=date(2026, 6, 9)),)),
    }
    entries = [entry(zone=zone, technician_id=each) for zone in (DENVER, AUCKLAND) for each in (USUAL, OTHER, None)]
    found = of_those_present(entries, who, DAYS)

    assert [each.technician_id for each in found] == [USUAL, None, None, None, OTHER, None]
    assert of_those_present(entries, {OTHER: Technician(code="bo", name="Bo")}, DAYS) == entries
