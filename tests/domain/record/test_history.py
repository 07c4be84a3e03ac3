"""The timeline of a unit's log: its order, its pages, and what had happened by an instant."""

from datetime import UTC, date, datetime, timedelta

import pytest

from service.domain.condition.condition import condition_of
from service.domain.quantities import parse_quantity
from service.domain.record.fleet import Component, Site, Unit
from service.domain.record.history import TimelineEvent, timeline
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Reading, Replacement, Visit, Void

FIRST = datetime(2026, 3, 2, 16, tzinfo=UTC)
DAY = timedelta(days=1)
BATH = Reading(quantity="bath_temperature", value=parse_quantity("28 degF", "temperature"), when="as_found")
REPORTED = Replacement(component="switch-1", reason="failed", condition="burnt", evidence="reported", on="2026-02-01")
SITE = Site(code="quay", customer="lantern", name="Quay", time_zone="America/Denver")
UNIT = Unit(
    tag="GU-1",
    site="quay",
    registered_on=date(2026, 1, 1),
    installed_on=date(2025, 5, 2),
    components=(Component(code="switch-1", kind="power_switch", removed_on=date(2026, 6, 1)),),
)


def a_visit(key: str, arrived_at: datetime, **more) -> Visit:
    frame = {"id": key, "unit": "GU-1", "kind": "maintenance", "posted_at": FIRST, "posted_by": "rhea"}
    return Visit(**frame, arrived_at=arrived_at, time_zone="America/Denver", **more)


@pytest.fixture
def log() -> UnitLog:
    """Two visits that report one replacement each for the same day, and a voided one."""
    visits = (
        a_visit("b", FIRST, readings=(BATH, BATH), replacements=(REPORTED,)),
        a_visit("c", FIRST, void=Void(reason="x", by="rhea", at=FIRST)),
        a_visit("a", FIRST + DAY, readings=(BATH,), replacements=(REPORTED,)),
    )
    return UnitLog(unit=UNIT, site=SITE, all_visits=visits)


def shown(events):
    return [(each.event, each.visit and each.visit.id, each.number) for each in events]


def test_the_newest_comes_first_and_events_of_one_instant_have_an_order(log: UnitLog) -> None:
    assert shown(timeline(log, limit=99)) == [
        ("component_removed", None, 0),
        ("visit", "a", 0),
        ("reading", "a", 0),
        ("visit_voided", "c", 1),
        ("visit", "c", 0),
        ("visit", "b", 0),
        ("reading", "b", 1),
        ("reading", "b", 0),
        ("replacement", "a", 0),  # of one day: by the arrival of the visit that recorded it
        ("replacement", "b", 0),
        ("unit_installed", None, 0),
    ]


def test_pages_hold_every_event_once(log: UnitLog) -> None:
    whole, found, after = timeline(log, limit=99), [], None
    while (page := timeline(log, after=after, limit=3)) and len(found) < 99:
        found += page
        after = page[-1].position

    assert found == whole
    assert len({each.position for each in whole}) == len(whole)


def test_a_voided_visit_is_in_the_timeline_and_does_not_count(log: UnitLog) -> None:
    found = [(each.event, each.visit.id) for each in timeline(log, limit=99) if each.void]

    assert found == [("visit_voided", "c"), ("visit", "c")]


def test_what_comes_after_an_instant_is_not_in_the_log_up_to_it(log: UnitLog) -> None:
    cause = TimelineEvent("root_cause_seen", FIRST + 3 * DAY, {"id": 1}, 1)
    then = log.as_of(FIRST)

    found = shown(timeline(then, [cause], limit=3))

    assert found == [("visit_voided", "c", 1), ("visit", "c", 0), ("visit", "b", 0)]
    assert shown(timeline(log, [cause], limit=2))[1] == ("root_cause_seen", None, 1)


def test_the_condition_follows_from_the_log_and_so_does_the_one_of_a_former_day(log: UnitLog) -> None:
    (now,), (then,) = condition_of(log).readings, condition_of(log.as_of(FIRST)).readings

    assert (now.as_found.visit, now.as_found.before.visit) == ("a", "b")
    assert then.as_found.visit == "b"
