"""Assignments over HTTP: who does which work on which day, what is postponed, and who cannot be sent."""

from datetime import timedelta

import pytest
from icalendar import Calendar

from tests.api.resources.following import audited, export, imported, take_in

PLAIN = {"installed_on": None, "components": [], "trunks": []}
RHEA = {"site": "quay", "technician": "rhea", "day": "2026-06-09"}


@pytest.fixture
def fleet(shop):
    """Two units due today at rhea's quay, one at the pier that nobody serves; every task but two is switched off."""
    shop.unit("GU-0", retired_on="2026-06-09")
    shop.post("/v1/technicians", {"code": "tobin", "name": "Tobin"})
    for code, technician in (("quay", "rhea"), ("pier", None)):
        shop.post(
            "/v1/sites", shop.example("site", code=code, name=code.title(), closed_weekdays=[], technician=technician)
        )
    for task in shop.get("/v1/tasks")["items"]:
        if task["code"] not in ("pump_check", "trunk_check"):
            shop.patch(f"/v1/tasks/{task['code']}", {"applies": False}, 0)
    for tag, site in (("GU-1", "quay"), ("GU-2", "quay"), ("GU-3", "pier")):
        shop.unit(tag, site=site, registered_on="2026-06-09", **PLAIN)
    return shop


def on_list(shop, query=""):
    return {
        (item["unit"], item["task"], stop["technician"])
        for stop in shop.get(f"/v1/pm-list?{query}")["stops"]
        for item in stop["items"]
    }


def units(shop, query=""):
    return sorted({unit for unit, _, _ in on_list(shop, query)})


def field(shop, body, role="owner"):
    answer = shop.ask("POST", "/v1/assignments", body, role=role)
    assert answer.status_code == 422, answer.text
    return answer.json["errors"][0]["field"]


def test_a_stop_is_given_to_a_technician_for_a_day(fleet) -> None:
    made = fleet.post("/v1/assignments", RHEA | {"site": "pier"}, role="dispatcher")

    assert fleet.get(f"/v1/assignments/{made['id']}") == made
    assert fleet.walk("/v1/assignments?site=pier") == fleet.walk("/v1/assignments?technician=rhea") == [made]
    assert units(fleet, "technician=rhea") == ["GU-1", "GU-2", "GU-3"]
    assert units(fleet, "unassigned=true") == []
    assert audited(fleet, "assignment", str(made["id"]))["after"]["site"] == "pier"


def test_an_item_is_given_to_another_than_its_stop(fleet) -> None:
    fleet.post("/v1/assignments", RHEA | {"unit": "GU-1", "task": "pump_check", "technician": "tobin"})

    assert {each[:2] for each in on_list(fleet, "technician=tobin")} == {("GU-1", "pump_check")}
    assert ("GU-1", "pump_check") not in {each[:2] for each in on_list(fleet, "technician=rhea")}


def test_each_item_names_who_does_it_and_its_assigned_day(fleet) -> None:
    """Of a unit's or site's assignment also what is due by its day, and not what falls due later."""
    done = [{"task": "trunk_check", "result": "done"}]
    fleet.visit("2026-06-09", unit="GU-1", tasks=done)  # due again on 2026-09-09
    fleet.post("/v1/assignments", RHEA | {"unit": "GU-1", "technician": "tobin", "day": "2026-06-11"})
    fleet.post("/v1/assignments", RHEA | {"unit": "GU-2", "task": "pump_check", "day": "2026-06-10"})
    found = {
        (item["unit"], item["task"]): (item["technician"], item["assigned_day"])
        for stop in fleet.get("/v1/pm-list?horizon_days=100")["stops"]
        for item in stop["items"]
    }

    assert found == {
        ("GU-1", "pump_check"): ("tobin", "2026-06-11"),
        ("GU-1", "trunk_check"): ("tobin", None),
        ("GU-2", "pump_check"): ("rhea", "2026-06-10"),
        ("GU-2", "trunk_check"): ("rhea", None),
        ("GU-3", "pump_check"): (None, None),
        ("GU-3", "trunk_check"): (None, None),
    }
    feed = Calendar.from_ical(fleet.ask("GET", "/v1/pm-list?technician=tobin&format=ics&horizon_days=7").data)
    assert [event["dtstart"].dt.isoformat() for event in feed.walk("VEVENT")] == ["2026-06-11"]


def test_what_goes_to_a_later_day_stands_on_that_days_list(fleet) -> None:
    fleet.post("/v1/assignments", RHEA | {"technician": "tobin", "day": "2026-06-11"})
    assert units(fleet) == ["GU-3"]
    assert units(fleet, "on=2026-06-11&technician=tobin") == ["GU-1", "GU-2"]
    assert units(fleet, "horizon_days=2&technician=tobin") == ["GU-1", "GU-2"]

    fleet.now = fleet.now.replace(day=12)  # nobody was there: it is back, with who usually serves the site
    assert units(fleet, "technician=rhea") == ["GU-1", "GU-2"]


def shown(shop, query=""):
    """Every item of a list with who does it and the day to which it is assigned."""
    return {
        (item["unit"], item["task"], item["technician"], item["assigned_day"])
        for stop in shop.get(f"/v1/pm-list?{query}")["stops"]
        for item in stop["items"]
    }


def test_a_past_day_shows_the_assignments_that_held_when_it_ended(fleet) -> None:
    """Whatever was changed or deleted since then: each list is that which was shown on its evening."""
    fleet.visit("2026-06-09", unit="GU-3", tasks=[{"task": "pump_check", "result": "done"}])
    stop = fleet.post("/v1/assignments", RHEA | {"technician": "tobin", "day": "2026-06-11"})
    ahead = fleet.post("/v1/assignments", RHEA | {"site": "pier", "unit": "GU-3", "task": "pump_check"})
    evenings = [shown(fleet)]

    fleet.now += timedelta(days=1)  # 10 June
    fleet.patch(f"/v1/assignments/{stop['id']}", {"day": "2026-06-10"}, 1)
    assert fleet.ask("DELETE", f"/v1/assignments/{ahead['id']}").status_code == 204
    later = {"site": "pier", "unit": "GU-3", "task": "trunk_check", "postponed_to": "2026-06-12", "why": "flooded"}
    later = fleet.post("/v1/assignments", later)
    evenings.append(shown(fleet))

    fleet.now += timedelta(days=1)  # 11 June
    fleet.patch("/v1/units/GU-3", {"tag": "GU-9"}, 1)
    assert fleet.ask("DELETE", f"/v1/assignments/{later['id']}").status_code == 204
    for version, day in ((2, "2026-06-13"), (3, "2026-06-11")):
        fleet.patch(f"/v1/assignments/{stop['id']}", {"day": day, "technician": "rhea"}, version)
    evenings.append(shown(fleet))

    named = [{("GU-9" if unit == "GU-3" else unit, *others) for unit, *others in each} for each in evenings]
    fleet.now += timedelta(days=3)
    assert [shown(fleet, f"on=2026-06-{day:02}") for day in (9, 10, 11)] == named
    assert [sorted({each[0] for each in found}) for found in named] == [
        ["GU-9"],
        ["GU-1", "GU-2"],
        ["GU-1", "GU-2", "GU-9"],
    ]
    assert ("GU-9", "pump_check", "rhea", "2026-06-09") in named[0]
    before, now = export(fleet), fleet.now
    fleet.empty()
    fleet.now = now
    take_in(fleet, before)
    assert export(fleet) == before
    assert [shown(fleet, f"on=2026-06-{day:02}") for day in (9, 10, 11)] == named


def test_work_may_be_brought_forward(fleet) -> None:
    fleet.visit("2026-06-09", unit="GU-3", tasks=[{"task": "pump_check", "result": "done"}])
    fleet.post("/v1/assignments", RHEA | {"site": "pier", "unit": "GU-3", "task": "pump_check", "technician": "tobin"})
    (stop,) = fleet.get("/v1/pm-list?technician=tobin")["stops"]

    assert [(item["task"], item["due_on"], item["status"]) for item in stop["items"]] == [
        ("pump_check", "2026-09-09", "scheduled")
    ]


def test_an_open_call_stays_on_todays_list_whenever_its_stop_is_assigned(fleet) -> None:
    call = {"id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c01", "received_at": "2026-06-09T15:00:00Z", "symptom": "other"}
    fleet.post("/v1/calls", call | {"site": "quay"})
    fleet.post("/v1/assignments", RHEA | {"day": "2026-06-12"})

    assert {each[:2] for each in on_list(fleet) if each[0] != "GU-3"} == {(None, "call")}


def test_a_call_that_can_wait_goes_with_the_assignment_of_its_stop_but_not_before_a_promise(fleet) -> None:
    call = {"received_at": "2026-06-09T15:00:00Z", "symptom": "other", "site": "quay", "urgency": "can_wait"}
    fleet.post("/v1/calls", call | {"id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c01"})
    promised = {"from": "2026-06-20T15:00:00Z", "until": "2026-06-20T17:00:00Z"}
    fleet.post("/v1/calls", call | {"id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c02", "promised": promised})
    fleet.post("/v1/assignments", RHEA | {"technician": "tobin", "day": "2026-06-11"})
    stops = fleet.get("/v1/pm-list?horizon_days=2")["stops"]

    found = [(each["technician"], each["assigned_day"]) for stop in stops for each in stop["items"] if each["call"]]
    assert found == [("tobin", "2026-06-11"), ("tobin", None)]


def test_work_is_brought_forward_where_the_unit_stands_and_until_the_day_is_over_there(fleet) -> None:
    fleet.post("/v1/sites", fleet.example("site", code="lock", closed_weekdays=[], time_zone="Pacific/Auckland"))
    fleet.visit("2026-06-09", unit="GU-3", tasks=[{"task": "pump_check", "result": "done"}])
    fleet.post("/v1/assignments", RHEA | {"site": "pier", "unit": "GU-3", "task": "pump_check", "day": "2026-06-10"})
    wanted = ("GU-3", "pump_check")
    assert wanted in {each[:2] for each in on_list(fleet, "horizon_days=1")}
    fleet.post("/v1/units/GU-3/locations", {"site": "lock", "from": "2026-06-10", "reason": "x"})
    assert wanted not in {each[:2] for each in on_list(fleet, "horizon_days=1")}
    fleet.post("/v1/assignments", RHEA | {"site": "lock", "unit": "GU-3", "task": "pump_check", "day": "2026-06-10"})
    assert wanted in {each[:2] for each in on_list(fleet)}  # 10 June there, 9 June in Denver
    fleet.now = fleet.now.replace(day=10)  # 11 June there, 10 June in Denver
    assert wanted not in {each[:2] for each in on_list(fleet)}


def test_a_follow_up_that_is_brought_forward_keeps_its_class(fleet) -> None:
    """Waiting for parts without a promised day it is due after 7 days."""
    fleet.patch("/v1/tasks/follow_up", {"applies": None}, 1)
    fleet.visit("2026-06-08", unit="GU-1", outcome="waiting_for_parts")
    body = {"site": "quay", "unit": "GU-1", "task": "follow_up", "technician": "rhea", "day": "2026-06-09"}
    fleet.post("/v1/assignments", body)
    stops = fleet.get("/v1/pm-list")["stops"]
    assert (stops[0]["class"], stops[0]["items"][0]["class"], stops[0]["items"][0]["task"]) == (
        "parts", "parts", "follow_up",
    )  # fmt: skip


def test_postponed_work_is_off_the_list_until_that_day_and_never_beyond_its_limit(fleet) -> None:
    # never done, due on 9 June; the longest interval of a pump check is 6 months, that in force 3: 183 - 91 = 92 days
    body = {"site": "quay", "unit": "GU-1", "task": "pump_check", "why": "the cellar is flooded"}
    assert field(fleet, body | {"postponed_to": "2026-09-10"}) == "postponed_to"
    assert field(fleet, body | {"postponed_to": "2026-09-10", "note": "x"}, role="dispatcher") == "postponed_to"
    assert field(fleet, {**body, "why": None, "postponed_to": "2026-06-20"}) == "why"
    made = fleet.post("/v1/assignments", body | {"postponed_to": "2026-09-09"}, role="dispatcher")

    assert ("GU-1", "pump_check") not in {each[:2] for each in on_list(fleet)}
    assert ("GU-1", "pump_check") in {each[:2] for each in on_list(fleet, "on=2026-09-09")}
    late = fleet.patch(f"/v1/assignments/{made['id']}", {"postponed_to": "2026-12-01", "note": "closed till then"}, 1)
    assert late["postponed_to"] == "2026-12-01"


def test_the_limit_counts_from_the_last_time_it_was_done(fleet) -> None:
    fleet.visit("2026-01-20", unit="GU-1", tasks=[{"task": "pump_check", "result": "done"}])  # 183 days: 22 July
    body = {"site": "quay", "unit": "GU-1", "task": "pump_check", "why": "x"}

    assert field(fleet, body | {"postponed_to": "2026-07-23"}) == "postponed_to"
    fleet.post("/v1/assignments", body | {"postponed_to": "2026-07-22"})


def test_nobody_is_sent_who_has_left_or_is_on_leave_and_their_stops_are_unassigned(fleet) -> None:
    version = fleet.get("/v1/technicians/tobin")["version"]
    leave = [{"from": "2026-06-08", "until": "2026-06-10"}]
    fleet.patch("/v1/technicians/tobin", {"leave": leave, "hours_per_day": 7.5}, version)
    assert field(fleet, RHEA | {"technician": "tobin"}) == "technician"
    fleet.post("/v1/assignments", RHEA | {"technician": "tobin", "day": "2026-06-11"})

    assert units(fleet, "unassigned=true") == ["GU-3"]
    fleet.now += timedelta(days=2)
    assert units(fleet, "on=2026-06-09&unassigned=true") == ["GU-3"]  # also once the day is over
    fleet.now -= timedelta(days=2)
    rhea = fleet.get("/v1/technicians/rhea")
    fleet.patch("/v1/technicians/rhea", {"left_on": "2026-06-08"}, rhea["version"])
    fleet.ask("DELETE", "/v1/assignments/1")
    for each in fleet.walk("/v1/assignments"):
        assert fleet.ask("DELETE", f"/v1/assignments/{each['id']}").status_code == 204
    assert units(fleet, "unassigned=true") == ["GU-1", "GU-2", "GU-3"]
    assert field(fleet, RHEA) == "technician"
    assert {each[2] for each in on_list(fleet)} == {None}


def test_the_day_of_leaving_is_the_first_on_which_nobody_is_sent(fleet) -> None:
    rhea = fleet.get("/v1/technicians/rhea")
    fleet.patch("/v1/technicians/rhea", {"left_on": "2026-06-11"}, rhea["version"])

    fleet.post("/v1/assignments", RHEA | {"day": "2026-06-10"})
    assert field(fleet, RHEA | {"site": "pier", "day": "2026-06-11"}) == "technician"


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({"site": "nowhere"}, "site"),
        ({"unit": "GU-9"}, "unit"),
        ({"unit": "GU-3"}, "unit"),
        ({"task": "pump_check"}, "task"),
        ({"technician": "nobody"}, "technician"),
        ({"technician": None}, "technician"),
        ({"day": None}, "day"),
        ({"day": "2026-06-08"}, "day"),
        ({"postponed_to": "2026-06-10", "why": "x"}, "postponed_to"),
    ],
)
def test_an_assignment_that_cannot_be_is_refused(fleet, changes, name) -> None:
    assert field(fleet, RHEA | changes) == name


def test_the_same_work_is_assigned_once_and_changed_by_version(fleet) -> None:
    made = fleet.post("/v1/assignments", RHEA)
    path = f"/v1/assignments/{made['id']}"

    assert fleet.ask("POST", "/v1/assignments", RHEA | {"technician": "tobin"}).status_code == 409
    assert fleet.patch(path, {"technician": "tobin"}, 1)["technician"] == "tobin"
    assert fleet.ask("PATCH", path, {"technician": "rhea"}, If_Match='"1"').status_code == 412
    assert fleet.ask("PATCH", path, {"site": "pier"}, If_Match='"2"').json["errors"][0]["field"] == "site"
    assert fleet.ask("DELETE", path, role="technician").status_code == 403
    assert fleet.ask("DELETE", path).status_code == 204
    assert fleet.ask("GET", path).status_code == 404


def test_assignments_and_leave_survive_export_and_import(fleet) -> None:
    leave = {"leave": [{"from": "2026-07-01", "until": "2026-07-14"}], "hours_per_day": 6}
    fleet.patch("/v1/technicians/tobin", leave, 1)
    fleet.post("/v1/assignments", RHEA | {"unit": "GU-1", "task": "pump_check", "day": "2026-06-10"})
    fleet.post("/v1/assignments", {"site": "pier", "postponed_to": "2026-06-20", "why": "closed"})
    before, listed = export(fleet), on_list(fleet)

    imported(fleet, before, before)
    assert export(fleet) == before
    assert on_list(fleet) == listed


def test_the_calendar_of_a_technician_names_restaurant_task_and_technician(fleet) -> None:
    fleet.post("/v1/assignments", RHEA | {"unit": "GU-1", "task": "pump_check", "technician": "tobin"})
    calendar = Calendar.from_ical(fleet.ask("GET", "/v1/pm-list?format=ics&technician=tobin").data)
    (event,) = calendar.walk("VEVENT")

    assert str(event["SUMMARY"]) == "Quay: Pump check GU-1 (Tobin)"
    assert str(event["LOCATION"]) == "..."  # the address


def test_a_task_is_listed_apart_while_the_larger_one_is_planned_for_later(fleet) -> None:
    for code in ("condenser_clean", "condenser_deep_clean"):
        fleet.patch(f"/v1/tasks/{code}", {"applies": True}, 1)
    assert "condenser_clean" not in {task for _, task, _ in on_list(fleet)}
    fleet.post("/v1/assignments", RHEA | {"unit": "GU-1", "task": "condenser_deep_clean", "day": "2026-06-11"})

    assert {each[:2] for each in on_list(fleet) if "condenser" in each[1]} == {
        ("GU-1", "condenser_clean"), ("GU-2", "condenser_deep_clean"), ("GU-3", "condenser_deep_clean"),
    }  # fmt: skip


def test_a_second_delete_takes_back_no_other_assignment(fleet) -> None:
    first = fleet.post("/v1/assignments", RHEA)
    assert fleet.ask("DELETE", f"/v1/assignments/{first['id']}").status_code == 204
    second = fleet.post("/v1/assignments", RHEA)

    assert fleet.ask("DELETE", f"/v1/assignments/{first['id']}").status_code == 404
    assert fleet.walk("/v1/assignments") == [second]


def at(fleet, day="2026-06-11", **more):
    body = {**RHEA, "unit": "GU-1", "day": day, **more}
    answer = fleet.ask("POST", "/v1/assignments", body)
    return {each["field"]: each["message"] for each in answer.json.get("errors", ())}


def test_nothing_is_planned_for_a_day_in_a_pause_a_closure_or_after_an_end(fleet) -> None:
    """By the dates themselves: the first and the last day of a pause are in it, an end is the first day without."""
    days = {"from": "2026-06-11", "until": "2026-06-12", "reason": "kitchen refit"}
    nothing = "nothing can be done there on this day: "
    paused = nothing + "the unit GU-1 is out of service from 2026-06-11 to 2026-06-12 (kitchen refit)"
    fleet.post("/v1/units/GU-1/pauses", days)
    assert at(fleet) == at(fleet, task="pump_check") == {"day": paused}
    assert at(fleet, day="2026-06-12") == {"day": paused}
    assert at(fleet, technician=None, day=None, postponed_to="2026-06-11", why="busy") == {"postponed_to": paused}
    assert at(fleet, unit=None) == at(fleet, day="2026-06-13") == at(fleet, day="2026-06-10", task="pump_check") == {}

    closed = nothing + "the site quay is closed from 2026-06-14 to 2026-06-20 (holiday)"
    fleet.post("/v1/sites/quay/closures", {"from": "2026-06-14", "until": "2026-06-20", "reason": "holiday"})
    assert at(fleet, unit="GU-2", day="2026-06-20") == at(fleet, unit=None, day="2026-06-14") == {"day": closed}
    assert at(fleet, unit="GU-2", task="pump_check", day="2026-06-21") == {}

    fleet.patch("/v1/units/GU-1", {"retired_on": "2026-06-25"}, 1)
    fleet.patch("/v1/sites/quay", {"ended_on": "2026-07-01"}, 1)
    fleet.patch("/v1/customers/lantern", {"ended_on": "2026-08-01"}, 1)
    assert at(fleet, day="2026-06-25") == {"day": nothing + "the unit GU-1 was retired on 2026-06-25"}
    assert at(fleet, unit="GU-2", day="2026-07-01") == {"day": nothing + "the site quay ended on 2026-07-01"}
    ended = {"day": nothing + "the customer lantern ended on 2026-08-01"}
    assert at(fleet, site="pier", unit=None, day="2026-08-01") == ended


def test_a_pause_that_was_withdrawn_hinders_nothing(fleet) -> None:
    fleet.post("/v1/units/GU-1/pauses", {"from": "2026-06-11", "reason": "kitchen refit"})
    assert "without an end" in at(fleet)["day"]
    fleet.ask("PATCH", "/v1/units/GU-1/pauses/1", {"withdrawn": True}, If_Match="*")
    assert at(fleet) == {}
