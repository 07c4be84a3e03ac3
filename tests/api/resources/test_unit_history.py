"""A unit's history over HTTP: one timeline, newest first."""

from datetime import datetime

import pytest


def events(shop, query="", tag="GU-0007"):
    return shop.walk(f"/v1/units/{tag}/history?limit=500&{query}")


def test_the_history_is_one_timeline_of_all_that_was_reported(shop) -> None:
    shop.unit()
    shop.post("/v1/visits", shop.example("visit"))
    found = [event["event"] for event in events(shop)]

    assert sorted(found) == sorted(
        [
            "visit",
            *["reading"] * 4,
            "task",
            *["replacement"] * 3,
            "observation",
            "unit_installed",
            "component_installed",
        ]
    )


def test_the_newest_comes_first(shop) -> None:
    shop.unit()
    shop.post("/v1/visits", shop.example("visit"))
    shop.visit("2026-01-05")
    shop.visit("2026-06-01")
    instants = [datetime.fromisoformat(event["at"]) for event in events(shop)]

    assert instants == sorted(instants, reverse=True)
    assert events(shop)[-1]["at"].startswith("2023-05-02")


def test_a_reported_replacement_stands_on_the_day_it_was_reported_for(shop) -> None:
    shop.unit()
    shop.post("/v1/visits", shop.example("visit"))
    shown = [event for event in events(shop) if event["event"] == "replacement"]

    assert [event["at"][:10] for event in shown] == ["2026-06-09", "2026-06-09", "2026-05-20"]
    assert (shown[2]["recorded"]["evidence"], shown[2]["recorded"]["by"]) == ("reported", "others")


@pytest.mark.parametrize("zone", ["Pacific/Auckland", "Pacific/Kiritimati", "Pacific/Pago_Pago", "Asia/Kolkata"])
def test_what_is_known_by_its_day_alone_stands_on_that_day_at_the_site(shop, zone) -> None:
    shop.unit()
    shop.patch("/v1/sites/lantern-quay", {"time_zone": zone}, 1)
    days = {event["event"]: event["at"][:10] for event in events(shop)}

    assert days == {"unit_installed": "2023-05-02", "component_installed": "2023-05-02"}


def test_an_event_reports_what_was_recorded_of_it(shop) -> None:
    shop.unit()
    shop.post("/v1/visits", shop.example("visit"))
    found = {event["event"]: event for event in events(shop, "units=us")}

    assert found["task"]["recorded"] == {"task": "condenser_clean", "result": "done", "as_found": "blocked"}
    assert found["observation"]["recorded"] == {"code": "cover_panel_missing"}
    assert found["visit"]["recorded"]["work"] == "Replaced ..."
    assert found["unit_installed"]["recorded"]["tag"] == "GU-0007"
    assert found["component_installed"]["recorded"]["code"] == "switch-1"
    assert found["task"]["visit"] == found["visit"]["recorded"]["id"]
    assert found["unit_installed"]["visit"] is None


@pytest.mark.parametrize(("units", "value"), [("us", 47), ("si", 8.33333)])
def test_readings_of_the_timeline_are_in_the_units_asked_for(shop, units, value) -> None:
    shop.unit()
    shop.post("/v1/visits", shop.example("visit"))
    found = [
        event["recorded"]["value"]["value"] for event in events(shop, f"units={units}") if event["event"] == "reading"
    ]

    assert value in found


def test_pages_of_the_timeline_meet_every_event_once_while_visits_come_in(shop) -> None:
    shop.unit()
    shop.post("/v1/visits", shop.example("visit"))
    whole = events(shop)
    page = shop.get("/v1/units/GU-0007/history?limit=1")
    met = page["items"]
    while page["next"]:
        shop.visit("2026-06-09", arrived_at="2026-06-09T20:59:00Z")  # newer than all that was met
        page = shop.get(page["next"])
        met += page["items"]

    assert met == whole


def test_a_voided_visit_is_reported_as_voided(shop) -> None:
    shop.unit()
    shop.post("/v1/visits", shop.example("visit"))
    shop.ask("POST", f"/v1/visits/{shop.example('visit')['id']}/void", {"reason": "wrong unit"}, If_Match='"1"')

    assert {event["event"]: event["void"] for event in events(shop)} == {
        "visit": True,
        "visit_voided": True,
        "reading": True,
        "task": True,
        "replacement": True,
        "observation": True,
        "unit_installed": False,
        "component_installed": False,
    }


def test_what_was_taken_out_and_retired_is_in_the_timeline(shop) -> None:
    shop.unit()
    gone = [{"code": "fan-1", "removed_on": "2026-06-01"}]
    shop.patch("/v1/units/GU-0007", {"retired_on": "2026-06-08", "components": gone}, 1)
    found = [(event["event"], event["at"][:10]) for event in events(shop)]

    assert found[:2] == [("unit_retired", "2026-06-08"), ("component_removed", "2026-06-01")]


def test_the_history_of_one_unit_is_its_own(shop) -> None:
    shop.unit("GU-1")
    shop.unit("GU-2")
    shop.visit("2026-06-01", unit="GU-1")

    assert "visit" not in {event["event"] for event in events(shop, tag="GU-2")}
