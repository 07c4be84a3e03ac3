"""Root causes in a customer's year: which are listed, and how they stood."""

import json
from dataclasses import fields
from datetime import UTC, date, datetime

import pytest

from service.domain.audit import Actor
from service.domain.root_causes.life_cycle import RootCause
from service.domain.summary.root_causes import Decision, as_it_stood
from service.usecases.record import fleet, units
from service.usecases.root_causes import root_causes
from service.usecases.year import summaries

NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)
DOCUMENT = {
    "explanation": "Three pumps seized.",
    "causes": [{"cause": "glycol_weak", "probability": 0.8}],
    "next_check": "measure the glycol",
    "remedy": "bring it to 35 %",
}


def at(day):
    return datetime.fromisoformat(f"{day}T12:00:00Z")


def by(day):
    return Actor("anna", "owner", None, at(day))


@pytest.fixture
def stocked(database, make):
    make.now, make.actor = NOW, by("2026-11-20")
    with database.writing() as store:
        make.site(store, "quay")
        pump = {"code": "pump-1", "kind": "pump"}
        make.unit(store, "GU-1", "quay", installed_on=date(2024, 11, 19), components=(pump,))
    return database


def find(database, day="2026-03-01"):
    with database.writing() as store:
        new = RootCause(
            unit="GU-1", kind="pump", tier="probable", probability_of_chance=0.04, document=json.dumps(DOCUMENT),
            evidence_key="e", first_seen=at(day), updated_at=at(day),
        )  # fmt: skip
        return store.root_causes.get(store.root_causes.add(new, store.units.place("GU-1")))


def decide(database, found, state, day, note="as seen"):
    with database.writing() as store:
        return root_causes.decide(store, by(day), found, state=state, note=note)


def summary(database, year=2026, as_of=NOW):
    with database.reading() as store:
        return summaries.summarise(store, "lantern", year, as_of=as_of, program_version="0", units_shown=None)


def line(database, **more):
    (found,) = summary(database, **more).units[0].root_causes
    return found


def test_a_root_cause_is_listed_in_words_for_the_customer_without_probabilities(stocked):
    find(stocked)

    found = line(stocked)

    assert (found.kind, found.state, found.first_seen_on) == ("pump", "open", date(2026, 3, 1))
    assert (found.think, found.verdict) == ("The glycol was too weak, so that slush or ice formed.", None)
    assert summary(stocked).root_causes.open == 1
    assert not {"probability_of_chance", "causes", "tier"} & {each.name for each in fields(found)}


@pytest.mark.parametrize(("year", "as_of"), [(2025, NOW), (2026, at("2026-02-01"))])
def test_one_first_seen_after_the_year_or_after_as_of_is_left_out(stocked, year, as_of):
    find(stocked)

    assert summary(stocked, year=year, as_of=as_of).units[0].root_causes == ()


def test_a_dismissed_root_cause_is_not_shown_to_the_customer(stocked):
    decide(stocked, find(stocked), "dismissed", "2026-04-02", "a bad batch")

    assert (summary(stocked).units[0].root_causes, summary(stocked).root_causes.total) == ((), 0)


def test_a_root_cause_stands_as_it_stood_at_as_of(stocked):
    found = decide(stocked, find(stocked), "confirmed", "2026-04-02", "glycol at 20 %")
    decide(stocked, found, "resolved", "2026-06-02", "filled anew")

    then, before = line(stocked, as_of=at("2026-05-01")), line(stocked, as_of=at("2026-03-15"))

    assert (then.state, then.decided_on, then.resolved_on) == ("confirmed", date(2026, 4, 2), None)
    assert (before.state, before.decided_on) == ("open", None)


def test_a_year_that_is_over_stays_when_something_is_decided_after_it(stocked):
    found = decide(stocked, find(stocked, "2025-06-01"), "confirmed", "2025-07-02", "glycol at 20 %")
    former = summary(stocked, year=2025)

    decide(stocked, found, "resolved", "2026-02-02", "filled anew")

    assert summary(stocked, year=2025) == former
    assert line(stocked).resolved_on == date(2026, 2, 2)


def test_a_year_that_is_over_stays_when_its_remedy_fails_in_the_next(stocked, make):
    decide(stocked, find(stocked, "2025-06-01"), "resolved", "2025-07-02", "filled anew")
    former = summary(stocked, year=2025)

    pump_failed(stocked, make, "2026-05-01")

    assert (former.units[0].root_causes[0].do, summary(stocked, year=2025)) == (
        "We made the remedy on 2025-07-02.", former,
    )  # fmt: skip
    assert "failed 1 time since" in line(stocked).do


@pytest.mark.parametrize("ended", ["unit", "site"])
def test_a_year_that_is_over_stays_when_the_unit_is_retired_after_it(stocked, ended):
    former = summary(stocked, year=2025)

    with stocked.writing() as store:
        if ended == "unit":
            units.change_unit(store, by("2026-09-01"), store.units.get("GU-1"), {"retired_on": date(2026, 9, 1)})
        else:
            fleet.change_site(store, by("2026-09-01"), store.sites.get("quay"), {"ended_on": date(2026, 9, 1)})

    assert summary(stocked, year=2025) == former
    assert summary(stocked).data_state.digest != summary(stocked, as_of=at("2026-08-01")).data_state.digest


def pump_failed(database, make, day):
    part = {"component": "pump-1", "reason": "failed", "condition": "seized", "evidence": "seen"}
    with database.writing() as store:
        make.visit(store, "GU-1", f"{day}T15:00:00Z", replacements=[part])


def test_a_remedy_is_what_we_did_in_its_own_year_alone(stocked, make):
    pump_failed(stocked, make, "2025-05-01")
    decide(stocked, find(stocked, "2025-06-01"), "resolved", "2025-06-02", "filled anew")
    removed = "GU-1: the cause of its pump failures removed on 2025-06-02"

    assert line(stocked).do == "We made the remedy on 2025-06-02."
    done = {year: summary(stocked, year=year).done for year in (2025, 2026)}
    assert [any(each.startswith(removed) for each in done[year]) for year in done] == [True, False]


def test_of_a_remedy_after_which_the_part_failed_again_we_say_so_and_what_is_next(stocked, make):
    decide(stocked, find(stocked, "2025-06-01"), "resolved", "2025-06-02", "filled anew")
    pump_failed(stocked, make, "2025-09-01")

    assert line(stocked).do == (
        "We made the remedy on 2025-06-02, but it failed 1 time since. "
        "We will bring it back to strength and look for where the water comes from."
    )


def test_a_root_cause_that_came_back_stood_dismissed_until_then():
    """Dismissed in April, open again in June since the part failed once more."""
    found = RootCause(
        unit="GU-1", kind="pump", tier="probable", probability_of_chance=0.04, document="{}", evidence_key="e",
        first_seen=at("2026-03-01"), updated_at=at("2026-06-01"), state="open", decided_by="anna",
        decided_at=at("2026-04-02"), why="a bad batch",
    )  # fmt: skip
    decisions = [
        Decision(at("2026-04-02"), "anna", "dismissed", "a bad batch"),
        Decision(at("2026-06-01"), "search for root causes", "open", "a bad batch"),
    ]
    states = [
        as_it_stood(found, decisions, as_of=at(day), zone="America/Denver")
        for day in ("2026-03-15", "2026-05-01", "2026-07-01")
    ]

    assert [(each.state, each.decided_by) for each in states] == [
        ("open", None),
        ("dismissed", "anna"),
        ("open", "anna"),
    ]


def test_a_decision_changes_the_digest(stocked):
    found = find(stocked)
    before = summary(stocked).data_state.digest
    decide(stocked, found, "confirmed", "2026-04-02")

    assert summary(stocked).data_state.digest != before


@pytest.mark.parametrize(
    ("state", "advised"), [("open", True), ("confirmed", True), ("dismissed", False), ("resolved", False)]
)
def test_a_pressing_root_cause_is_to_be_worked_on_until_it_is_settled(stocked, state, advised):
    found = find(stocked)
    if state != "open":
        decide(stocked, found, state, "2026-04-02")

    assert [each.basis for each in summary(stocked).actions].count("root_cause") >= int(advised)
    assert any(each.basis == "root_cause" and each.who == "we" for each in summary(stocked).actions) is advised
