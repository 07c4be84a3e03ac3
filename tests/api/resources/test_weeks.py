"""/v1/pm-plan: the weeks ahead over HTTP."""

from datetime import UTC, datetime

import pytest

NOW = datetime(2026, 6, 15, 12, 0, tzinfo=UTC)  # a Monday
PLAIN = {"installed_on": None, "components": [], "trunks": []}


@pytest.fixture
def fleet(shop):
    """Three units whose ten first checks fall due on the day of registration."""
    shop.now = NOW
    for tag in ("GU-1", "GU-2", "GU-3"):
        shop.unit(tag, **PLAIN, registered_on="2026-06-15")
    shop.patch("/v1/sites/lantern-quay", {"technician": "rhea", "closed_weekdays": []}, 1)
    shop.patch("/v1/technicians/rhea", {"hours_per_day": 6}, 1)
    return shop


def test_the_work_of_the_weeks_is_compared_with_the_hours(fleet) -> None:
    plan = fleet.get("/v1/pm-plan?from=2026-06-15&to=2026-07-12")
    minutes = sum(item["minutes"] for tag in (1, 2, 3) for item in due(fleet, f"GU-{tag}"))
    (first, *others) = plan["weeks"]

    assert (first["from"], first["until"], len(others)) == ("2026-06-15", "2026-06-21", 3)
    assert first["hours_due"] == round(minutes / 60, 2)
    assert first["technicians"][0]["hours_available"] == 30
    assert plan["first_overload"] is None


def due(shop, tag):
    stops = shop.get("/v1/pm-list")["stops"]
    return [item for stop in stops for item in stop["items"] if item["unit"] == tag]


def test_an_overloaded_week_is_shown_early_with_what_to_move(fleet) -> None:
    fleet.patch("/v1/technicians/rhea", {"hours_per_day": 0.5}, 2)
    fleet.patch("/v1/technicians/rhea", {"leave": [{"from": "2026-09-07", "until": "2026-09-20"}]}, 3)
    plan = fleet.get("/v1/pm-plan?to=2026-10-04")

    assert plan["first_overload"] == "2026-06-15"
    assert plan["weeks"][0]["technicians"][0]["overload_hours"] > 0
    assert [week["hours_available"] for week in plan["weeks"] if week["from"] in ("2026-09-07", "2026-09-14")] == [0, 0]


def test_a_friday_has_room_for_the_unit_that_is_longest_overdue(fleet) -> None:
    fleet.unit("GU-4", **PLAIN, registered_on="2026-06-01")
    fleet.patch("/v1/tasks/electrical_check", {"interval": "6 months"}, 0)  # may wait, like the others
    fleet.patch("/v1/technicians/rhea", {"hours_per_day": 8}, 2)
    fleet.now = datetime(2026, 6, 19, 12, 0, tzinfo=UTC)
    plan = fleet.get("/v1/pm-plan?to=2026-06-28")
    minutes = sum(item["minutes"] for item in due(fleet, "GU-4"))

    assert minutes < 8 * 60 < 2 * minutes
    assert [round(week["hours_planned"] * 60) for week in plan["weeks"]] == [minutes, 3 * minutes]
    assert {(each["unit"], each["to_week"]) for each in plan["moved"]} == {
        ("GU-1", "2026-06-22"),
        ("GU-2", "2026-06-22"),
        ("GU-3", "2026-06-22"),
    }


def test_work_that_recurs_counts_on_each_of_its_days(fleet) -> None:
    fleet.patch("/v1/tasks/bath_level_check", {"interval": "7 days"}, 0)
    weeks = fleet.get("/v1/pm-plan?to=2026-07-12")["weeks"]

    assert [week["hours_due"] for week in weeks[1:]] == [0.5, 0.5, 0.5]


def test_assigned_and_postponed_work_stands_in_its_week(fleet) -> None:
    body = {"site": "lantern-quay", "unit": "GU-1", "task": "pump_check", "postponed_to": "2026-07-01", "why": "closed"}
    before = fleet.get("/v1/pm-plan")["weeks"]
    fleet.post("/v1/assignments", body)
    after = fleet.get("/v1/pm-plan")["weeks"]

    changes = [round(new["hours_due"] - old["hours_due"], 2) for old, new in zip(before, after, strict=True)]
    assert changes[0] == -0.33
    assert changes[2] == 0.33


def test_what_cannot_be_planned_is_refused(fleet) -> None:
    for query, field in (("from=2026-06-14", "from"), ("to=2026-06-14", "to"), ("to=2028-01-01", "to")):
        assert fleet.ask("GET", f"/v1/pm-plan?{query}").json["errors"][0]["field"] == field
    assert fleet.ask("GET", "/v1/pm-plan", role="technician").status_code == 403


def test_hours_that_are_not_known_are_named(fleet) -> None:
    fleet.post("/v1/technicians", {"code": "tobin", "name": "Tobin"})

    assert fleet.get("/v1/pm-plan")["notes"] == ["No hours of work are recorded for Tobin: 6.4 h a day are assumed."]


def of_weeks(fleet, query):
    return [week["hours_due"] for week in fleet.get(f"/v1/pm-plan?{query}")["weeks"]]


def test_a_plan_that_begins_later_has_what_is_due_then_alone(fleet) -> None:
    fleet.patch("/v1/tasks/bath_level_check", {"interval": "7 days"}, 0)

    assert of_weeks(fleet, "from=2026-06-29&to=2026-07-12") == of_weeks(fleet, "to=2026-07-12")[2:] == [0.5, 0.5]


def test_what_is_postponed_beyond_the_plan_is_not_in_its_last_week(fleet) -> None:
    body = {"site": "lantern-quay", "unit": "GU-1", "task": "pump_check", "postponed_to": "2026-07-20", "why": "closed"}
    fleet.post("/v1/assignments", body)
    within, beyond = of_weeks(fleet, "to=2026-07-26"), of_weeks(fleet, "to=2026-07-12")

    assert beyond == within[:4]
    assert within[5] == 0.33


def test_work_that_recurs_during_a_pause_is_done_when_the_unit_is_back(fleet) -> None:
    fleet.patch("/v1/tasks/bath_level_check", {"interval": "7 days"}, 0)
    for tag in ("GU-1", "GU-2", "GU-3"):
        pause = {"from": "2026-06-20", "until": "2026-07-01", "reason": "season"}
        fleet.post(f"/v1/units/{tag}/pauses", pause)

    assert of_weeks(fleet, "to=2026-07-12")[1:] == [0, 0.5, 0.5]  # on 2026-07-02 and 2026-07-09


def test_work_of_who_has_left_is_nobodys(fleet) -> None:
    fleet.patch("/v1/technicians/rhea", {"left_on": "2026-06-01"}, 2)
    week = fleet.get("/v1/pm-plan?to=2026-06-21")["weeks"][0]

    assert [load["technician"] for load in week["technicians"]] == [None]
