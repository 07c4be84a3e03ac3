"""Calls: by which day, in which state, what cannot be true. Days by hand; those of an urgency are common practice."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from service.domain.record.assignments import away
from service.domain.record.calls import Call, Promised, answered_by, faults_of, settled
from service.domain.record.fleet import Leave

RECEIVED = datetime(2026, 6, 9, 5, tzinfo=UTC)  # 23:00 on 8 June in Denver
NOW = RECEIVED + timedelta(hours=8)
SECOND = timedelta(seconds=1)
CALL = Call(
    id="c",
    received_at=RECEIVED,
    symptom="noisy",
    posted_at=NOW,
    posted_by="rhea",
    time_zone="America/Denver",
    version=3,
)
ENDED = replace(CALL, state="answered", how="phone_advice", at=NOW, why="x", advice="Reset it.", visit="v")


@pytest.mark.parametrize(
    ("urgency", "due_on"), [("now", "06-08"), ("today", "06-08"), ("this_week", "06-15"), ("can_wait", "07-08")]
)
def test_a_call_is_due_by_its_urgency_from_the_day_at_the_site(urgency: str, due_on: str) -> None:
    assert CALL.received_on == date(2026, 6, 8)
    assert replace(CALL, urgency=urgency).due_on == date.fromisoformat(f"2026-{due_on}")


def test_a_promise_prevails_over_the_urgency() -> None:
    window = Promised(from_=datetime(2026, 6, 12, 3, tzinfo=UTC), until=datetime(2026, 6, 12, 6, tzinfo=UTC))
    assert replace(CALL, urgency="can_wait", promised=window).due_on == date(2026, 6, 12)  # midnight in Denver
    early = replace(window, until=window.until - SECOND)
    assert replace(CALL, promised=early).due_on == date(2026, 6, 11)


@pytest.mark.parametrize(
    ("state", "waits"), [("open", True), ("assigned", True), ("answered", False), ("cancelled", False)]
)
def test_an_open_or_assigned_call_waits(state: str, waits: bool) -> None:
    assert replace(CALL, state=state).waiting is waits


@pytest.mark.parametrize(("technician", "state"), [(None, "open"), ("rhea", "assigned")])
def test_a_call_that_waits_has_no_end(technician: str | None, state: str) -> None:
    waiting = replace(CALL, technician=technician, state=state)
    for former in ("open", "assigned"):
        assert settled(replace(ENDED, state=former, technician=technician), NOW) == waiting
    assert answered_by(replace(ENDED, technician=technician), None, None) == replace(waiting, version=4)


def test_a_call_that_ended_keeps_what_belongs_to_its_end() -> None:
    later = NOW + SECOND
    assert settled(ENDED, later) == replace(ENDED, why=None)
    assert settled(replace(ENDED, at=None), later).at == later
    cancelled = replace(ENDED, state="cancelled")
    assert settled(cancelled, later) == replace(cancelled, how=None, advice=None, visit=None)
    assert settled(replace(cancelled, at=None), later).at == later


def test_a_visit_answers_a_call_at_its_instant() -> None:
    assert answered_by(ENDED, "w", NOW) == replace(ENDED, how="visit", visit="w", why=None, advice=None, version=4)


@pytest.mark.parametrize(
    ("changes", "fields"),
    [
        ({}, []),
        ({"received_at": NOW + timedelta(hours=1)}, []),  # clocks differ by up to an hour
        ({"received_at": NOW + timedelta(hours=1) + SECOND}, ["received_at"]),
        ({"state": "answered", "how": "phone_advice", "at": NOW + timedelta(hours=1)}, []),
        ({"state": "answered", "how": "phone_advice", "at": NOW + timedelta(hours=1) + SECOND}, ["at"]),
        ({"state": "answered", "how": "phone_advice", "at": RECEIVED}, []),
        ({"state": "answered", "how": "phone_advice", "at": RECEIVED - SECOND}, ["at"]),
        ({"state": "answered", "how": "visit", "at": RECEIVED - SECOND, "visit": "v"}, []),  # called during the visit
        ({"state": "answered"}, ["how"]),
        ({"state": "answered", "how": "visit"}, ["how"]),
        ({"state": "cancelled"}, ["why"]),
        ({"state": "cancelled", "why": ""}, ["why"]),
        ({"state": "cancelled", "why": "called twice"}, []),
        ({"day": date(2026, 6, 10)}, ["day"]),
        ({"day": date(2026, 6, 10), "technician": "rhea"}, []),
        ({"promised": Promised(from_=NOW, until=NOW)}, []),
        ({"promised": Promised(from_=NOW, until=NOW - SECOND)}, ["promised.until"]),
    ],
)
def test_what_cannot_be_true_of_a_call_is_a_fault(changes, fields) -> None:
    assert [fault.field for fault in faults_of(replace(CALL, **changes), NOW)] == fields


@pytest.mark.parametrize(
    ("day", "left", "why"),
    [
        (9, None, None),
        (10, None, "is on leave from 2026-06-10 to 2026-06-12"),
        (12, None, "is on leave from 2026-06-10 to 2026-06-12"),
        (13, None, None),
        (9, 10, None),
        (10, 10, "left on 2026-06-10"),
        (20, 10, "left on 2026-06-10"),
    ],
)
def test_a_technician_is_away_on_leave_and_from_the_day_of_leaving_on(day, left, why) -> None:
    leave = [Leave(from_=date(2026, 6, 10), until=date(2026, 6, 12))]
    assert away(date(2026, 6, day), left and date(2026, 6, left), leave) == why
