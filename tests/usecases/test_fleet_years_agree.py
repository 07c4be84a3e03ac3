"""The fleet's year says of one unit what its customer's summary says, on each engine."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from service.domain.audit import Actor
from service.domain.root_causes.life_cycle import RootCause
from service.usecases import root_causes, summaries, tasks
from service.usecases.fleet_years import summarise_fleet

NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
OWNER = Actor("anna", "owner", None, datetime(2026, 1, 2, 12, tzinfo=UTC))
PUMP = ({"code": "pump-1", "kind": "pump"}, {"code": "pump-2", "kind": "pump"})
WORDS = {"explanation": "Three pumps seized.", "next_check": "measure the glycol", "remedy": "bring it to 35 %"}
CASE = RootCause(
    unit="GU-1", kind="pump", tier="probable", probability_of_chance=0.04, evidence_key="e",
    document=json.dumps({"causes": [{"cause": "glycol_weak", "probability": 0.8}], "events": [], **WORDS}),
    first_seen=datetime(2026, 3, 10, 12, tzinfo=UTC), updated_at=datetime(2026, 3, 10, 12, tzinfo=UTC),
)  # fmt: skip


@pytest.fixture
def stocked(book, make):
    """A unit in the book since 2026-01-02."""
    make.now, make.actor = NOW, OWNER
    with book.writing() as store:
        make.site(store, "quay")
        make.unit(store, "GU-1", "quay", installed_on=date(2024, 1, 1), components=PUMP)
    make.actor = replace(OWNER, at=NOW)
    return book


def at(day):
    return replace(OWNER, at=datetime.fromisoformat(f"{day}T12:00:00Z"))


def post(book, make, day, **more):
    with book.writing() as store:
        make.visit(store, "GU-1", f"{day}T18:00:00Z", **more)


def both(book, as_of=NOW):
    """(the fleet's year, the customer's)"""
    with book.reading() as store:
        asked = {"as_of": as_of, "program_version": "0"}
        return summarise_fleet(store, 2026, **asked), summaries.summarise(
            store, "lantern", 2026, units_shown=None, **asked
        )


@pytest.mark.parametrize("own", [False, True], ids=["of all units", "of one unit"])
def test_pm_is_judged_by_the_settings_of_its_day(stocked, make, own):
    """Every 3 months until 1 July, then monthly: 5 April is on time, 5 July and 20 August late, 20 September missed."""
    for day in ("2026-01-05", "2026-04-05", "2026-07-05", "2026-08-20"):
        post(stocked, make, day, tasks=[{"task": "condenser_clean", "result": "done"}])
    with stocked.writing() as store:
        if own:
            _, former = tasks.task_at(store, "GU-1", "condenser_clean")
            tasks.set_task_at(store, at("2026-07-01"), "GU-1", former, {"interval": "1 month"})
        else:
            _, former = tasks.one_task(store, "condenser_clean")
            tasks.set_task(store, at("2026-07-01"), former, {"interval": "1 month"})

    fleet, customer = both(stocked)

    cleaned = next(line for line in fleet.tasks if line.task == "condenser_clean")
    assert (cleaned.on_time, cleaned.late, cleaned.missed, cleaned.first) == (1, 2, 1, 1)
    assert fleet.pm == customer.pm


def decide(book, case, state, day):
    with book.writing() as store:
        return root_causes.decide(store, at(day), case, state=state, note=f"{state} on {day}")


@pytest.mark.parametrize("day", ["2026-03-15", "2026-04-15", "2026-06-15", "2026-11-20"])
def test_a_candidate_is_told_as_it_stood_and_as_its_customer_is_told(stocked, make, day):
    part = {"component": "pump-2", "reason": "failed", "condition": "seized", "evidence": "seen"}
    post(stocked, make, "2026-01-10", replacements=[part])
    with stocked.writing() as store:
        case = replace(CASE, id=store.root_causes.add(CASE, store.units.place("GU-1")))
    decide(stocked, decide(stocked, case, "confirmed", "2026-04-01"), "resolved", "2026-05-01")

    fleet, customer = both(stocked, at(day).at)
    (mine,), (theirs,) = fleet.cases, customer.units[0].root_causes

    states = {"2026-03-15": "open", "2026-04-15": "confirmed", "2026-06-15": "resolved", "2026-11-20": "resolved"}
    assert mine.state == states[day]
    names = set(type(mine).__slots__) - {"cause"}
    assert [getattr(mine, name) for name in sorted(names)] == [getattr(theirs, name) for name in sorted(names)]
