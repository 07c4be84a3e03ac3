"""One unit's year from its log: what counts by an instant, and what changes its digest."""

from dataclasses import replace
from datetime import date, datetime

import pytest

from service.domain.quantities import parse_quantity
from service.domain.record.calls import Call
from service.domain.record.fleet import Component, Site, Unit
from service.domain.record.unit_log import SettingChange, UnitLog
from service.domain.record.visits import Replacement, TaskResult, Visit
from service.domain.summary.settings import ShopTasks
from service.domain.summary.unit_record import UnitRecord
from service.domain.summary.unit_year import unit_year

SITE = Site(code="quay", customer="lantern", name="Quay", time_zone="America/Denver")
UNIT = Unit(
    tag="GU-1", site="quay", installed_on=date(2024, 1, 1), registered_on=date(2024, 1, 1),
    components=(Component(code="pump-1", kind="pump"),),
)  # fmt: skip
LATE = Replacement(component="pump-1", reason="failed", condition="seized", evidence="reported", on="2026-05-20")


def at(day, hour=18):
    return datetime.fromisoformat(f"{day}T{hour:02}:00:00Z")


def a_visit(day, **more):
    return Visit(
        id=day, unit="GU-1", kind="maintenance", arrived_at=at(day), posted_at=at(day), posted_by="test",
        time_zone=SITE.time_zone, **more,
    )  # fmt: skip


def year(*visits, as_of="2026-11-20", of=2026, unit=UNIT, site=SITE, **more):
    log = UnitLog(unit=unit, site=site, all_visits=visits, **more)
    return unit_year(UnitRecord(log, ShopTasks(as_of=at(as_of))), (), of)


@pytest.mark.parametrize(("as_of", "days"), [("2026-05-25", []), ("2026-06-02", [date(2026, 5, 20)])])
def test_a_replacement_counts_on_its_own_day_once_a_visit_has_recorded_it(as_of, days):
    found = year(a_visit("2026-06-01", replacements=(LATE,)), as_of=as_of)

    assert [part.on for part in found.replaced] == days


def test_a_visit_counts_in_the_year_of_the_sites_own_day():
    """2027-01-01T03:00Z is still the last evening of 2026 in Denver."""
    late = replace(a_visit("2027-01-01"), arrived_at=at("2027-01-01", 3))

    assert [len(year(late, as_of="2027-02-01", of=of).visits) for of in (2026, 2027)] == [1, 0]


@pytest.mark.parametrize(
    ("unit", "visits", "counts"),
    [
        (replace(UNIT, retired_on=date(2026, 1, 1)), (), True),
        (replace(UNIT, retired_on=date(2025, 12, 31)), (), False),
        (replace(UNIT, retired_on=date(2025, 12, 31)), (a_visit("2026-06-01"),), True),
        (replace(UNIT, installed_on=date(2026, 11, 20)), (), True),
        (replace(UNIT, installed_on=date(2026, 11, 21)), (), False),
    ],
)
def test_a_unit_counts_if_it_was_in_service_or_visited_in_the_year(unit, visits, counts):
    assert year(*visits, unit=unit).counts == counts


@pytest.mark.parametrize(("set_at", "cleans"), [(None, True), ("2026-02-01", False), ("2027-02-01", True)])
def test_a_condenser_is_ours_to_clean_by_what_was_set_at_the_years_end(set_at, cleans):
    codes = ("condenser_clean", "condenser_deep_clean") if set_at else ()
    changes = tuple(SettingChange(code, at(set_at), {}, {"applies": False}) for code in codes)
    settings = {code: {"applies": False} for code in codes}

    assert year(as_of="2027-03-01", settings=settings, setting_changes=changes).standing.cleans == cleans


def test_the_digest_changes_with_what_counts_and_with_nothing_else():
    visit, later = a_visit("2026-06-01"), a_visit("2026-11-21")
    heard = Call(
        id="1",
        received_at=at("2026-05-31"),
        symptom="warm_pour",
        unit="GU-1",
        posted_at=at("2026-05-31"),
        posted_by="r",
    )
    digests = {
        year(visit).digest,
        year(replace(visit, advice="clean it")).digest,
        year(visit, calls=(heard,)).digest,
        year(visit, calls=(replace(heard, symptom="other"),)).digest,
        year(visit, unit=replace(UNIT, serial="2")).digest,
        year(visit, site=replace(SITE, elevation=parse_quantity("5280 ft", "length"))).digest,
        year(visit, settings={"condenser_clean": {"interval": "1 month"}}).digest,
    }

    assert len(digests) == 7
    assert year(visit).digest == year(replace(visit, version=2)).digest
    assert year(visit, calls=(heard,)).digest == year(visit, calls=(replace(heard, version=2),)).digest
    assert year(visit).digest == year(visit, later).digest == year(visit, version=9).digest
    assert year(visit).digest == year(visit, site=replace(SITE, version=2)).digest


@pytest.mark.parametrize(
    "linked",
    [{"version": 2}, {"replaces": "GU-0"}, {"replaced_by": "GU-2", "replaced_on": date(2026, 11, 20)}],
    ids=["version", "replaces", "replaced"],
)
def test_a_link_to_another_unit_leaves_the_digest(linked):
    """A unit's version counts its moves and links too, so that what is recorded of the unit counts instead."""
    visit = a_visit("2026-06-01")

    assert year(visit, unit=replace(UNIT, **linked)).digest == year(visit).digest


def test_the_due_date_that_judges_a_task_follows_from_the_setting_of_its_day():
    """By hand: 3 months until the change on 2026-07-01, then 1: due 2026-04-05 and 2026-05-05 from 04-05."""
    done = (TaskResult(task="condenser_clean", result="done"),)
    change = SettingChange("condenser_clean", at("2026-07-01"), {}, {"interval": "1 month"})
    found = year(
        *(a_visit(day, tasks=done) for day in ("2026-01-05", "2026-04-05", "2026-07-05")),
        settings={"condenser_clean": {"interval": "1 month"}},
        setting_changes=(change,),
    )
    lines = [(line.due_on, line.state) for line in found.pm_lines if line.task == "condenser_clean"]

    assert lines[:3] == [(None, "first"), (date(2026, 4, 5), "on_time"), (date(2026, 5, 5), "late")]
