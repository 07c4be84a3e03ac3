"""A visit that was posted for the wrong unit is moved to the right one: both histories and due items follow."""

from datetime import UTC, datetime
from typing import Any

import pytest

from tests.api.resources.following import audited, export, take_in

WRONG, RIGHT = "GU-0007", "GU-0008"
CALL = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c01"
SWITCH = {"component": "switch-9", "kind": "power_switch", "condition": "burnt", "reason": "failed", "evidence": "seen"}


@pytest.fixture
def two(shop) -> Any:
    """Two units of two customers, and a visit that was posted for the wrong one."""
    shop.now = datetime(2026, 6, 8, 21, tzinfo=UTC)
    shop.unit(WRONG)
    shop.post("/v1/customers", {"code": "heron", "name": "Heron"})
    shop.post("/v1/sites", {"code": "pier", "name": "P", "customer": "heron", "time_zone": "America/New_York"})
    shop.post("/v1/units", {"tag": RIGHT, "site": "pier", "registered_on": "2026-01-01", "care_from": "2026-01-01"})
    shop.posted = shop.visit(
        "2026-06-08",
        unit=WRONG,
        kind="service_call",
        outcome="recovering",
        tasks=[{"task": "condenser_clean", "result": "done"}],
        replacements=[SWITCH],
    )["visit"]["id"]
    shop.now = datetime(2026, 6, 10, 21, tzinfo=UTC)
    return shop


def move(shop, unit: str = RIGHT, version: int = 1) -> Any:
    path, body = f"/v1/visits/{shop.posted}/move", {"unit": unit, "reason": "the wrong sticker"}
    return shop.ask("POST", path, body, If_Match=f'"{version}"')


def last_done(shop, unit: str) -> Any:
    return shop.due(unit)["condenser_clean"]["last_done_on"]


def of_year(shop, customer: str) -> list[str]:
    units = shop.get(f"/v1/customers/{customer}/service-summaries/2026")["units"]
    return [each["id"] for unit in units for each in unit["visits"]]


def events(shop, unit: str, name: str) -> list[dict[str, Any]]:
    return [each for each in shop.walk(f"/v1/units/{unit}/history") if each["event"] == name]


def test_visit_due_items_lists_and_years_are_those_of_the_right_unit(two) -> None:
    before = last_done(two, WRONG), last_done(two, RIGHT), of_year(two, "lantern"), of_year(two, "heron")
    answer = move(two)

    assert answer.status_code == 200, answer.text
    assert (answer.json["visit"]["unit"], answer.json["visit"]["site"], answer.json["visit"]["version"]) == (
        RIGHT, "pier", 2,
    )  # fmt: skip
    assert answer.json["visit"]["arrived_at"] == "2026-06-08T14:00:00-04:00"
    assert before == ("2026-06-08", None, [two.posted], [])
    assert (last_done(two, WRONG), last_done(two, RIGHT)) == (None, "2026-06-08")
    assert (of_year(two, "lantern"), of_year(two, "heron")) == ([], [two.posted])
    assert "follow_up" not in two.due(WRONG)
    assert two.due(RIGHT)["follow_up"]["due_on"] == "2026-06-09"
    assert [each["id"] for each in two.walk("/v1/visits?customer=heron")] == [two.posted]
    assert two.walk(f"/v1/visits?unit={WRONG}") == []
    assert "switch-9" in [part["code"] for part in two.get(f"/v1/units/{RIGHT}")["components"]]
    with two.database.reading() as store:
        assert [part.component for part in store.log_of(RIGHT).replaced()] == ["switch-9"]
        assert store.log_of(WRONG).replaced() == []


def test_both_histories_and_the_audit_trail_say_so(two) -> None:
    move(two)
    expected = {"from_unit": WRONG, "to_unit": RIGHT, "reason": "the wrong sticker", "by": "the owner"}
    entry = audited(two, "visit", two.posted)

    for unit in (WRONG, RIGHT):
        (event,) = events(two, unit, "visit_moved")
        assert (event["visit"], event["recorded"]) == (two.posted, expected)
    assert (events(two, WRONG, "visit"), len(events(two, RIGHT, "visit"))) == ([], 1)
    assert (entry["action"], entry["before"]["unit"], entry["after"]["unit"]) == ("moved", WRONG, RIGHT)
    (made,) = two.get(f"/v1/visits/{two.posted}")["corrections"]
    assert (made["from_unit"], made["why"], made["former"]["unit"]) == (WRONG, "the wrong sticker", WRONG)


def test_the_list_of_a_past_day_is_as_it_was_known_then(two) -> None:
    path = "/v1/pm-list?on=2026-06-09"
    before = two.get(path)
    assert [item["unit"] for stop in before["stops"] for item in stop["items"] if item["task"] == "follow_up"] == [
        WRONG
    ]
    move(two)

    assert two.get(path) == before


def test_a_visit_may_be_moved_again_and_back(two) -> None:
    move(two)
    two.now = datetime(2026, 6, 10, 22, tzinfo=UTC)
    assert move(two, WRONG, 2).status_code == 200

    moves = [(each["recorded"]["from_unit"], each["recorded"]["to_unit"]) for each in events(two, RIGHT, "visit_moved")]
    assert moves == [(RIGHT, WRONG), (WRONG, RIGHT)]
    assert (last_done(two, WRONG), last_done(two, RIGHT)) == ("2026-06-08", None)
    assert len(events(two, WRONG, "visit_moved")) == 2


@pytest.mark.parametrize(
    ("unit", "message"), [("GU-0042", "there is no unit"), (WRONG, "is the unit of the visit already")]
)
def test_a_move_that_cannot_be_is_refused(two, unit: str, message: str) -> None:
    answer = move(two, unit)

    assert (answer.status_code, answer.json["errors"][0]["field"]) == (422, "unit")
    assert message in answer.json["errors"][0]["message"]


def test_what_a_move_needs(two) -> None:
    two.patch(f"/v1/units/{RIGHT}", {"retired_on": "2026-06-01"}, 1)
    assert move(two).status_code == 422  # the unit was retired by then
    assert move(two, version=7).status_code == 412
    two.ask("POST", f"/v1/visits/{two.posted}/void", {"reason": "x"}, If_Match='"1"')
    assert move(two, version=2).status_code == 409


def test_the_other_history_names_the_present_tag_of_either_unit(two) -> None:
    move(two)
    events(two, RIGHT, "visit_moved"), events(two, WRONG, "visit_moved")  # kept in memory from now on
    for tag in (WRONG, RIGHT):
        two.patch(f"/v1/units/{tag}", {"tag": f"{tag}-B"}, two.get(f"/v1/units/{tag}")["version"])
    recorded = [events(two, tag, "visit_moved")[0]["recorded"] for tag in (WRONG, RIGHT)]

    assert [(each["from_unit"], each["to_unit"]) for each in recorded] == [(f"{WRONG}-B", f"{RIGHT}-B")] * 2


def test_a_call_for_the_wrong_unit_is_corrected_first(two) -> None:
    two.post("/v1/calls", {"id": CALL, "received_at": "2026-06-08T12:00:00Z", "unit": WRONG, "symptom": "warm_pour"})
    two.patch(f"/v1/visits/{two.posted}", {"why": "forgotten", "calls": [CALL]}, 1)
    refused = move(two, version=2)
    two.patch(f"/v1/calls/{CALL}", {"unit": RIGHT, "site": "pier"}, two.get(f"/v1/calls/{CALL}")["version"])

    assert "is a call for the unit GU-0007" in refused.text
    assert move(two, version=2).status_code == 200
    assert_kept(two)


def test_a_moved_and_corrected_visit_is_exported_and_imported(two) -> None:
    two.patch(f"/v1/visits/{two.posted}", {"why": "typo", "work": "Changed the switch."}, 1)
    two.now = datetime(2026, 6, 10, 21, 1, tzinfo=UTC)
    move(two, version=2)
    two.now = datetime(2026, 6, 10, 21, 2, tzinfo=UTC)
    two.patch(f"/v1/visits/{two.posted}", {"why": "typo", "work": "Changed the main switch."}, 3)
    assert_kept(two)


def assert_kept(shop) -> None:
    """What is exported is imported, into an empty database and into its own."""
    now, exported = shop.now, export(shop)
    before = [events(shop, unit, "visit_moved") for unit in (WRONG, RIGHT)]
    due = [shop.due(unit) for unit in (WRONG, RIGHT)]
    assert take_in(shop, exported)["added"] == {}
    shop.empty()
    shop.now = now
    take_in(shop, exported)

    assert [events(shop, unit, "visit_moved") for unit in (WRONG, RIGHT)] == before
    assert [shop.due(unit) for unit in (WRONG, RIGHT)] == due
    assert export(shop) == exported


def test_the_history_of_the_wrong_unit_shows_a_later_void(two) -> None:
    move(two)
    assert [each["void"] for each in events(two, WRONG, "visit_moved")] == [False]
    two.ask("POST", f"/v1/visits/{two.posted}/void", {"reason": "x"}, If_Match="*")
    assert [each["void"] for each in events(two, WRONG, "visit_moved")] == [True]


def test_a_former_text_names_the_unit_of_its_time_and_comes_through_an_import(two) -> None:
    for why in ("one", "two"):
        two.ask("PATCH", f"/v1/visits/{two.posted}", {"work": why, "why": why}, If_Match="*")
    move(two, version=3)
    two.ask("PATCH", f"/v1/visits/{two.posted}", {"work": "three", "why": "three"}, If_Match="*")
    found = two.get(f"/v1/visits/{two.posted}")["corrections"]
    assert [each["former"]["unit"] for each in found] == [WRONG, WRONG, WRONG, RIGHT]
    lines, now = export(two), two.now
    two.empty()
    two.now = now
    take_in(two, lines)
    assert two.get(f"/v1/visits/{two.posted}")["corrections"] == found


def test_a_file_from_before_the_move_changes_nothing(two) -> None:
    before = export(two)
    assert move(two).status_code == 200
    moved = export(two)
    tally = take_in(two, before)

    assert (tally["added"], tally["unchanged"]["visit"], tally["errors"]) == ({}, 1, [])
    assert export(two) == moved


def test_other_content_under_the_id_of_a_moved_visit_is_still_refused(two) -> None:
    before = export(two)
    assert move(two).status_code == 200
    other = before.replace(b'"outcome":"recovering"', b'"outcome":"running"')
    answer = two.app.test_client().post(
        "/v1/imports",
        data=other,
        content_type="application/x-ndjson",
        headers={"Authorization": f"Bearer {two.tokens['owner']}"},
    )

    assert answer.status_code == 422
    assert ["is already stored" in each["message"] for each in answer.json["errors"]] == [True]
