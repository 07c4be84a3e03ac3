"""Replacements by others whose day is not known exactly: from the visit to history, year, correction and import."""

import json

import pytest
from sqlalchemy import text

from tests.api.resources.conftest import NOW
from tests.api.resources.following import export, imported

ID = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b90"
FAILED = {"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "reported", "by": "others"}
STATED = ("2026-03", "2026-06", "2025", "2025-11-10/2026-02-20", "unknown")


@pytest.fixture
def learned(shop):
    """A visit on 9 June 2026 that learned of five replacements."""
    shop.unit()
    parts = [FAILED | {"on": on} for on in STATED]
    return shop.visit("2026-06-09", id=ID, replacements=parts)["visit"]


def timeline(shop):
    shown = shop.get("/v1/units/GU-0007/history?limit=200")["items"]
    return {each["recorded"]["on"]: each for each in shown if each["event"] == "replacement"}


def test_the_history_has_each_on_the_last_day_possible_and_says_how_well_it_is_known(shop, learned) -> None:
    events = timeline(shop)

    assert [part["on"] for part in learned["replacements"]] == list(STATED)
    assert {on: each["at"][:10] for on, each in events.items()} == {
        "2026-03": "2026-03-31", "2026-06": "2026-06-09", "2025": "2025-12-31",
        "2025-11-10/2026-02-20": "2026-02-20", "unknown": "2026-06-09",
    }  # fmt: skip
    assert {on: each["remark"] for on, each in events.items()} == {
        "2026-03": "The day as reported: about 2026-03.",
        "2026-06": "The day as reported: about 2026-06.",
        "2025": "The day as reported: in 2025.",
        "2025-11-10/2026-02-20": "The day as reported: between 2025-11-10 and 2026-02-20.",
        "unknown": "The day as reported: day unknown.",
    }


def test_a_year_counts_what_it_may_hold_last_and_shows_what_was_reported(shop, learned) -> None:
    path = "/v1/customers/lantern/service-summaries"
    years = {year: shop.get(f"{path}/{year}")["units"][0] for year in (2025, 2026)}
    lines = {year: [(each["on"], each.get("stated")) for each in unit["replacements"]] for year, unit in years.items()}

    assert lines[2025] == [("2025-12-31", "2025")]
    assert lines[2026] == [
        ("2026-02-20", "2025-11-10/2026-02-20"),
        ("2026-03-31", "2026-03"),
        ("2026-06-09", "2026-06"),
        ("2026-06-09", "unknown"),
    ]
    assert [unit["replaced"]["total"] for unit in years.values()] == [1, 4]


def test_none_of_them_alone_makes_a_root_cause(shop, learned) -> None:
    assert shop.get("/v1/root-causes")["items"] == []


def test_a_correction_keeps_what_was_written_and_an_import_all_of_it(shop, learned) -> None:
    shop.patch(f"/v1/visits/{ID}", {"replacements": [FAILED | {"on": "2026-05"}], "why": "asked again"}, 1)
    shown, events = shop.get(f"/v1/visits/{ID}"), timeline(shop)
    imported(shop, export(shop))

    assert [part["on"] for part in shown["corrections"][0]["former"]["replacements"]] == list(STATED)
    assert (shop.get(f"/v1/visits/{ID}")["replacements"], timeline(shop)) == (shown["replacements"], events)
    assert events["2026-05"]["at"][:10] == "2026-05-31"


def test_a_range_may_be_written_as_its_two_ends(shop) -> None:
    shop.unit()
    made = shop.visit("2026-06-09", replacements=[FAILED | {"on": {"between": ["2026-01", "2026-02-03"]}}])

    assert made["visit"]["replacements"][0]["on"] == "2026-01/2026-02-03"


@pytest.mark.parametrize(
    "on",
    ["2026-13", "26", "2026-1", "2026-01-01/", "/2026", "2026/2027/2028", "Unknown", {"between": ["2026"]}, 2026, ""],
)
def test_what_is_no_day_is_refused(shop, on) -> None:
    shop.unit()
    refused = shop.ask("POST", "/v1/visits", {
        "id": ID, "unit": "GU-0007", "kind": "maintenance", "arrived_at": NOW.isoformat(),
        "replacements": [FAILED | {"on": on}],
    })  # fmt: skip

    assert refused.status_code == 422, refused.text
    assert [each["field"] for each in json.loads(refused.text)["errors"]] == ["replacements.0.on"]


def test_a_move_of_the_visits_clock_moves_only_what_was_bounded_by_the_visit(shop, learned) -> None:
    """The visit at 18:00 UTC is of 10 June in Auckland: what is unknown, or of June, may then be of that day."""
    shop.patch("/v1/sites/lantern-quay", {"time_zone": "Pacific/Auckland"}, 1)
    with shop.database.reading() as store:
        rows = store.link.core(text("SELECT reported_on, day, earliest, latest FROM replacement"))
        kept = {row[0]: tuple(row[1:]) for row in rows}

    assert kept == {
        "2026-03": ("2026-03-31", "2026-03-01", "2026-03-31"),
        "2026-06": ("2026-06-10", "2026-06-01", "2026-06-30"),
        "2025": ("2025-12-31", "2025-01-01", "2025-12-31"),
        "2025-11-10/2026-02-20": ("2026-02-20", "2025-11-10", "2026-02-20"),
        "unknown": ("2026-06-10", None, None),
    }


def test_a_month_that_begins_after_the_visits_own_day_counts_from_its_first_day(shop) -> None:
    """A visit of 30 May that may have lasted into June; in Auckland it is of 31 May."""
    shop.unit()
    shop.visit("2026-05-30", id=ID, replacements=[FAILED | {"on": "2026-06"}])
    days = [timeline(shop)["2026-06"]["at"][:10]]
    shop.patch("/v1/sites/lantern-quay", {"time_zone": "Pacific/Auckland"}, 1)
    with shop.database.reading() as store:
        days += [row[0] for row in store.link.core(text("SELECT day FROM replacement"))]

    assert days == ["2026-06-01"] * 2


@pytest.mark.parametrize(
    ("about", "shown"),
    [
        ({}, "unknown"),
        ({"evidence": "seen"}, "unknown"),
        ({"by": "us"}, "unknown"),
        ({"evidence": "seen", "by": "us"}, None),  # that of the visit
    ],
)
def test_null_is_an_unknown_day_of_what_others_did_or_was_reported(shop, about, shown) -> None:
    shop.unit()
    shop.visit("2026-06-09", id=ID, replacements=[FAILED | about | {"on": None}])
    (part,) = shop.get(f"/v1/visits/{ID}")["replacements"]
    shop.patch(f"/v1/visits/{ID}", {"replacements": [FAILED | about | {"on": None}], "why": "checked"}, 1)
    imported(shop, export(shop))

    assert part.get("on") == shown
    assert shop.get(f"/v1/visits/{ID}")["replacements"] == [part]


def test_a_reported_replacement_without_a_day_is_refused(shop) -> None:
    shop.unit()
    body = {"id": ID, "unit": "GU-0007", "kind": "maintenance", "arrived_at": NOW.isoformat(), "replacements": [FAILED]}
    refused = shop.ask("POST", "/v1/visits", body)

    assert (refused.status_code, refused.json["errors"][0]["field"]) == (422, "replacements.0.on")
