"""Days on which something is out of the ordinary, as they are laid out and levelled over HTTP."""

import pytest

from tests.api.resources.test_driving import DAY, NOW, called, fleet, left, order, site, unit

__all__ = ["fleet"]  # the fixture
WEEK = ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]


def hours_of(fleet, query="to=2026-07-05"):
    return [week["hours_due"] for week in fleet.get(f"/v1/pm-plan?{query}")["weeks"]]


def test_two_sites_at_one_address_follow_each_other_without_a_way_between(fleet) -> None:
    for code in ("bar", "kitchen"):
        site(fleet, code, None, address="1 Harbour Street")
        unit(fleet, f"GU-{code}", code)
    answer = fleet.get(DAY)
    places = order(answer)
    travel = {stop["site"]: stop["travel_minutes"] for stop in answer["stops"]}

    assert abs(places.index("bar") - places.index("kitchen")) == 1
    assert sorted((travel["bar"], travel["kitchen"])) == [0, 20]
    assert "No coordinates, so 20 min are taken for each way: The bar, The kitchen." in answer["day"]["notes"]


def test_a_site_closed_for_the_week_is_not_driven_to_and_comes_back_after(fleet) -> None:
    before = hours_of(fleet)
    fleet.post("/v1/sites/south/closures", {"from": "2026-06-08", "until": "2026-06-14", "reason": "renovation"})
    answer = fleet.get(DAY)

    assert "south" not in order(answer)
    assert "south" not in {stop["site"] for stop in fleet.get("/v1/pm-list")["stops"]}
    assert (hours_of(fleet)[0], hours_of(fleet)[1]) == (round(before[0] - 0.33, 2), round(before[1] + 0.33, 2))
    assert "south" in order(fleet.get(f"{DAY}&on=2026-06-15"))


def test_a_site_closed_on_every_weekday_is_left_over_with_the_reason(fleet) -> None:
    fleet.patch("/v1/sites/south", {"closed_weekdays": WEEK}, 1)

    assert left(fleet.get(DAY))["GU-south"] == "The site is closed on 2026-06-09."


def test_a_unit_retired_in_the_week_is_planned_until_then_alone(fleet) -> None:
    fleet.patch("/v1/tasks/pump_check", {"interval": "7 days", "shortest": "7 days"}, 0)
    before = hours_of(fleet)
    fleet.patch("/v1/units/GU-mid", {"retired_on": "2026-06-17"}, 1)
    after = hours_of(fleet)

    assert [round(old - new, 2) for old, new in zip(before, after, strict=True)][2:] == [0.33, 0.33]


def test_a_technician_who_leaves_has_no_day_from_then_on(fleet) -> None:
    fleet.patch("/v1/technicians/rhea", {"left_on": "2026-06-10"}, 2)

    assert order(fleet.get(DAY)) != []
    later = fleet.get("/v1/pm-list?hours=8&start=08:00&on=2026-06-10")
    assert (order(later), set(left(later).values())) == ([], {"Nobody works on this day."})


def test_after_a_call_the_day_keeps_what_is_done_and_what_was_promised(fleet) -> None:
    promised = {"from": "2026-06-09T20:00:00Z", "until": "2026-06-09T21:00:00Z"}
    first = called(fleet, "south", promised=promised)
    morning = fleet.get(DAY)
    fleet.now = NOW.replace(hour=15, minute=10)
    fleet.visit("2026-06-09", unit="GU-north", arrived_at="2026-06-09T14:40:00Z", left_at="2026-06-09T15:10:00Z",
                technician="rhea", tasks=[{"task": "pump_check", "result": "done"}])  # fmt: skip
    urgent = called(fleet, "mid", urgency="now", received_at="2026-06-09T15:05:00Z")
    answer = fleet.get(DAY)
    calls = {item["call"]: stop for stop in answer["stops"] for item in stop["items"] if item["call"]}

    assert "north" in order(morning)
    assert "north" not in order(answer)
    assert answer["day"]["technicians"][0]["done"] == ["north"]
    assert calls[urgent["id"]] == answer["stops"][0]
    assert "2026-06-09T14:00:00-06:00" <= calls[first["id"]]["arrives_at"] <= "2026-06-09T15:00:00-06:00"
    assert fleet.get(DAY) == answer


@pytest.mark.parametrize(("zone", "night"), [("America/Denver", "2027-03-14"), ("America/Denver", "2026-11-01")])
def test_a_call_promised_in_the_night_of_changed_clocks_is_kept(fleet, zone, night) -> None:
    """Open from 01:30 to 03:30 by its clock: one hour in spring, three in autumn (RFC 5545 and PEP 495)."""
    hours = [{"weekday": "sunday", "from": "01:30", "until": "03:30"}]
    site(fleet, "night", 39.73, time_zone=zone, opening_hours=hours)
    unit(fleet, "GU-night", "night")
    (driver,) = fleet.get(f"/v1/pm-list?technician=rhea&start=00:30&hours=6&on={night}")["day"]["technicians"]
    (stop,) = (
        stop
        for stop in fleet.get(f"/v1/pm-list?technician=rhea&start=00:30&hours=6&on={night}")["stops"]
        if stop["site"] == "night"
    )

    assert driver["starts_at"].startswith(f"{night}T00:30:00")
    assert f"{night}T01:30" <= stop["arrives_at"][:16]
    assert stop["leaves_at"][:16] <= f"{night}T03:30"


def test_half_a_year_after_the_end_of_august_is_a_leap_day_and_a_day_to_drive(fleet) -> None:
    fleet.now = NOW.replace(year=2027, month=8, day=31, hour=21)
    unit(fleet, "GU-leap", "mid", day="2027-08-31")
    fleet.patch("/v1/units/GU-leap/tasks/pump_check", {"interval": "6 months"}, 0)
    fleet.visit("2027-08-31", unit="GU-leap", technician="rhea", tasks=[{"task": "pump_check", "result": "done"}])
    due = {item["task"]: item["due_on"] for item in fleet.get("/v1/units/GU-leap/due")["items"]}
    fleet.now = NOW.replace(year=2028, month=2, day=29)
    items = [item for stop in fleet.get(DAY)["stops"] for item in stop["items"] if item["unit"] == "GU-leap"]

    assert due["pump_check"] == "2028-02-29"
    assert [(item["due_on"], item["status"]) for item in items] == [("2028-02-29", "due_today")]
