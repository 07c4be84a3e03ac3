"""Root causes over HTTP: who sees and decides them, and how long a decision lasts."""

from dataclasses import replace
from datetime import date

import pytest

from service.domain.root_causes.found import AfterAnother, CauseShare, FailureEvent, Quiet, RootCauseFound
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.wording import WORDS
from service.usecases.root_causes import root_causes

FOUND = RootCauseFound(
    unit="GU-0007",
    component_kind="power_switch",
    tier="probable",
    probability_of_chance=0.04,
    causes=(CauseShare("condenser_fouled", 0.8), CauseShare("unexplained", 0.04)),
    events=(
        FailureEvent(date(2026, 5, 2), "switch-1", "burnt", "seen", "us", "failed", "v1", {"condenser": "blocked"}),
    ),
    exposed_share=None,
    expected_failures_next_year=1.5,
    chance_of_so_many=0.02,
    quiet=Quiet(38, 0.7),
    after_others=(AfterAnother("pump", 1, 2.5),),
    nameplates={},
    remarks={"not_cleaned_since": "2023-05-02"},
    evidence_key="e",
)
DISMISSED = {"state": "dismissed", "note": "a bad batch"}


def found(shop, *each):
    """The search finds these at the unit."""
    history = FailureHistory("GU-0007", date(2023, 5, 2), date(2026, 6, 9))
    with shop.database.writing() as store:
        place = store.units.place("GU-0007")
        return root_causes.remember(store, place, history, store.root_causes.at(place.id), found=each, at=shop.now)


@pytest.fixture
def cause(shop):
    """The path of one cause at the example's unit."""
    shop.unit()
    return f"/v1/root-causes/{found(shop, FOUND)[0].id}"


def test_a_root_cause_reports_its_evidence_and_that_it_is_open(shop, cause) -> None:
    shown = shop.get(cause)

    assert (shown["unit"], shown["component_kind"], shown["tier"], shown["state"]) == (
        "GU-0007", "power_switch", "probable", "open",
    )  # fmt: skip
    assert (shown["probability_of_chance"], shown["causes"][0]) == (
        0.04,
        {"cause": "condenser_fouled", "probability": 0.8, "measured": False},
    )
    assert (shown["events"][0]["day"], shown["events"][0]["readings_before"]) == (
        "2026-05-02",
        {"condenser": "blocked"},
    )
    assert shown["explanation"].startswith("Power switch: 1 failure within 1 days (2026-05-02), all at switch-1.")
    assert shown["next_check"] == WORDS["condenser_fouled"].confirm
    assert (shown["quiet"], shown["remarks"]) == ({"days": 38, "still_at_work": 0.7}, FOUND.remarks)


@pytest.mark.parametrize(
    ("query", "count"),
    [("", 1), ("tier=probable&state=open&customer=lantern&unit=GU-0007", 1), ("tier=watch", 0), ("state=resolved", 0)],
)
def test_root_causes_are_listed_by_what_is_asked(shop, cause, query, count) -> None:
    assert len(shop.walk(f"/v1/root-causes?{query}")) == count


def test_the_list_comes_in_parts(shop, cause) -> None:
    found(shop, FOUND, replace(FOUND, component_kind="pump", probability_of_chance=0.02))
    items = shop.walk("/v1/root-causes?limit=1")

    assert [item["component_kind"] for item in items] == ["pump", "power_switch"]


def test_a_wrong_word_is_answered_with_the_list(shop, cause) -> None:
    refused = shop.ask("GET", "/v1/root-causes?tier=sure").json["errors"][0]

    assert (refused["field"], "probable" in refused["message"]) == ("tier", True)


@pytest.mark.parametrize(
    ("state", "resolved_on"), [("confirmed", None), ("dismissed", None), ("resolved", "2026-06-09")]
)
@pytest.mark.parametrize("role", ["owner", "dispatcher"])
def test_the_office_decides_with_a_note(shop, cause, role, state, resolved_on) -> None:
    shown = shop.patch(cause, {"state": state, "note": "seen"}, 1, role=role)

    assert (shown["state"], shown["note"], shown["decided_by"], shown["version"]) == (state, "seen", f"the {role}", 2)
    assert (shown["resolved_on"], shop.get(cause)) == (resolved_on, shown)


def test_a_technician_sees_a_root_cause_and_does_not_decide(shop, cause) -> None:
    assert shop.get(cause, role="technician")["state"] == "open"
    assert shop.ask("PATCH", cause, DISMISSED, role="technician", If_Match='"1"').status_code == 403


@pytest.mark.parametrize("body", [{"state": "dismissed"}, {"state": "open", "note": "x"}, {"state": "x", "note": "x"}])
def test_a_decision_that_says_too_little_is_refused(shop, cause, body) -> None:
    assert shop.ask("PATCH", cause, body, If_Match='"1"').status_code == 422


def test_a_decision_needs_the_version_last_read(shop, cause) -> None:
    assert shop.ask("PATCH", cause, DISMISSED).status_code == 428
    assert shop.ask("PATCH", cause, DISMISSED, If_Match='"7"').status_code == 412
    shop.patch(cause, DISMISSED, 1)
    assert shop.ask("PATCH", cause, DISMISSED, If_Match='"2"').status_code == 409


def test_a_decision_is_in_the_audit_trail(shop, cause) -> None:
    shop.patch(cause, DISMISSED, 1)
    entry = shop.get("/v1/audit?resource=root_cause")["items"][0]

    assert (entry["key"], entry["actor"]) == ("GU-0007/power_switch", "the owner")
    assert (entry["before"], entry["after"]) == ({"state": "open", "note": None}, DISMISSED)


def test_a_dismissed_root_cause_returns_on_new_evidence_only(shop, cause) -> None:
    shop.patch(cause, DISMISSED, 1)
    found(shop, replace(FOUND, probability_of_chance=0.03))
    assert (shop.get(cause)["state"], shop.get(cause)["version"]) == ("dismissed", 2)
    found(shop, replace(FOUND, evidence_key="f"))

    assert (shop.get(cause)["state"], shop.get(cause)["note"]) == ("open", "a bad batch")


def test_finding_the_same_again_changes_nothing(shop, cause) -> None:
    before = shop.get(cause)
    found(shop, FOUND)

    assert shop.get(cause) == before


def test_a_root_cause_that_is_not_there_is_not_found(shop, cause) -> None:
    assert shop.ask("GET", "/v1/root-causes/999999").status_code == 404
    assert shop.ask("PATCH", "/v1/root-causes/999999", DISMISSED, If_Match='"1"').status_code == 404
