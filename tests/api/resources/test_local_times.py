"""Times without offset by the clock of the site.

Reference: the IANA time zone database. Denver goes from -06:00 to -07:00 on 2025-11-02 at 02:00 and
back on 2026-03-08 at 02:00; Phoenix keeps -07:00; Berlin has +02:00 in June.
"""

from uuid import uuid4

import orjson
import pytest

from tests.api.resources.following import export, imported, take_in

SITE = "lantern-quay"  # in Denver
TWICE = "2025-11-02T01:30"
NEVER = "2026-03-08T02:30"
BOTH = "write 2025-11-02T01:30:00-06:00 or 2025-11-02T01:30:00-07:00"
FORWARD = "there is no 2026-03-08T02:30:00 by the clock of America/Denver"


def visit(**changes):
    return {"id": str(uuid4()), "unit": "GU-0007", "kind": "maintenance", "arrived_at": "2026-06-08T09:05"} | changes


def reading(at):
    return {"quantity": "bath_temperature", "value": "-2 degC", "when": "as_found", "at": at}


def refused(shop, path, body, field, message):
    answer = shop.ask("POST", path, body)
    assert answer.status_code == 422, answer.text
    found = {each["field"]: each["message"] for each in answer.json["errors"]}
    assert message in found[field], found


def test_a_visit_is_by_the_clock_of_its_site(shop) -> None:
    shop.unit()
    new = visit(
        left_at="2026-06-08T10:20:30.5",
        readings=[reading("2026-06-08T09:15")],
        complaint={"symptom": "warm_pour", "reported_at": "2026-06-08t07:00"},
    )
    made = shop.post("/v1/visits", new)["visit"]
    assert made["arrived_at"] == "2026-06-08T09:05:00-06:00"
    assert made["left_at"] == "2026-06-08T10:20:30.500000-06:00"
    assert made["readings"][0]["at"] == "2026-06-08T09:15:00-06:00"
    assert made["complaint"]["reported_at"] == "2026-06-08T07:00:00-06:00"
    assert shop.post("/v1/visits", new)["visit"] == made


@pytest.mark.parametrize(("time", "message"), [(TWICE, BOTH), (NEVER, FORWARD)])
def test_an_hour_that_comes_twice_or_never_is_refused(shop, time, message) -> None:
    shop.unit()
    refused(shop, "/v1/visits", visit(arrived_at=time), "arrived_at", message)
    refused(
        shop, "/v1/visits", visit(arrived_at=f"{time[:11]}00:10", readings=[reading(time)]), "readings.0.at", message
    )
    attendance = {"id": str(uuid4()), "site": SITE, "crew": ["rhea"], "arrived_at": time, "access": "no_access"}
    refused(shop, "/v1/attendances", attendance, "arrived_at", message)
    inside = [{"unit": "GU-0007", "kind": "maintenance", "readings": [reading(time)]}]
    attendance |= {"arrived_at": f"{time[:11]}00:10", "access": "done", "visits": inside}
    refused(shop, "/v1/attendances", attendance, "visits.0.readings.0.at", message)
    call = {"id": str(uuid4()), "site": SITE, "received_at": time, "symptom": "warm_pour"}
    refused(shop, "/v1/calls", call, "received_at", message)
    refused(shop, "/v1/triage", {"unit": "GU-0007", "readings": [reading(time)]}, "readings.0.at", message)
    line = orjson.dumps({"record": "visit", **visit(arrived_at=time)})
    answer = shop.app.test_client().post(
        "/v1/imports",
        data=line,
        content_type="application/x-ndjson",
        headers={"Authorization": f"Bearer {shop.tokens['owner']}"},
    )
    assert message in answer.json["errors"][0]["message"]


@pytest.mark.parametrize("offset", ["-06:00", "-07:00"])
def test_an_hour_that_comes_twice_is_taken_with_its_offset(shop, offset) -> None:
    shop.unit(installed_on="2024-02-29")
    made = shop.post("/v1/visits", visit(arrived_at=f"{TWICE}:00{offset}"))["visit"]
    assert made["arrived_at"] == f"{TWICE}:00{offset}"


def test_a_moved_unit_goes_by_the_clock_where_it_stood(shop) -> None:
    shop.unit()
    shop.post("/v1/sites", shop.example("site", code="spree", time_zone="Europe/Berlin"))
    shop.post("/v1/units/GU-0007/locations", {"site": "spree", "from": "2026-06-08", "reason": "loaner"})
    # The day begins in Berlin at 2026-06-07T16:00 in Denver.
    for time, offset in (
        ("2026-06-07T12:00", "-06:00"),
        ("2026-06-08T00:30", "+02:00"),
        ("2026-06-09T08:00", "+02:00"),
    ):
        made = shop.post("/v1/visits", visit(arrived_at=time))["visit"]
        assert made["arrived_at"] == f"{time}:00{offset}"


def test_a_correction_keeps_the_instant_whatever_becomes_of_the_clock(shop) -> None:
    shop.unit()
    made = shop.post("/v1/visits", visit())["visit"]
    path = f"/v1/visits/{made['id']}"
    corrected = shop.patch(path, {"left_at": "2026-06-08T11:00", "why": "forgotten"}, 1)["visit"]
    assert corrected["left_at"] == "2026-06-08T11:00:00-06:00"
    moved = shop.patch(path, {"arrived_at": "2026-06-08T08:00", "why": "earlier"}, 2)["visit"]
    assert moved["arrived_at"] == "2026-06-08T08:00:00-06:00"
    shop.patch(f"/v1/sites/{SITE}", {"time_zone": "America/Phoenix"}, 1)
    before, lines = shop.get(path), export(shop)
    assert before["left_at"] == "2026-06-08T10:00:00-07:00"
    imported(shop, lines)
    assert shop.get(path)["left_at"] == before["left_at"]
    assert export(shop) == lines


def test_a_call_is_by_the_clock_of_its_site_or_unit(shop) -> None:
    shop.unit()
    for where in ({"site": SITE}, {"unit": "GU-0007"}, {"site": SITE, "unit": "GU-0007"}):
        promised = {"from": "2026-06-09T08:00", "until": "2026-06-09T12:00"}
        new = {"id": str(uuid4()), "received_at": "2026-06-09T07:30", "symptom": "warm_pour", "promised": promised}
        made = shop.post("/v1/calls", new | where)
        assert made["received_at"] == "2026-06-09T07:30:00-06:00"
        assert made["promised"] == {name: f"{time}:00-06:00" for name, time in promised.items()}
        ended = shop.patch(
            f"/v1/calls/{made['id']}", {"state": "answered", "how": "phone_advice", "at": "2026-06-09T07:45"}, 1
        )
        assert ended["at"] == "2026-06-09T07:45:00-06:00"


def test_without_a_site_the_offset_is_needed(shop) -> None:
    shop.unit()
    call = {"id": str(uuid4()), "received_at": "2026-06-09T07:30", "symptom": "warm_pour"}
    refused(shop, "/v1/calls", call, "received_at", "has no offset")
    shop.post("/v1/calls", call | {"received_at": "2026-06-09T07:30:00-06:00"})
    ended = shop.ask(
        "PATCH", f"/v1/calls/{call['id']}", {"state": "cancelled", "why": "x", "at": "2026-06-09T08:00"}, If_Match="*"
    )
    assert "has no offset" in ended.json["errors"][0]["message"]
    named = shop.patch(
        f"/v1/calls/{call['id']}", {"site": SITE, "state": "cancelled", "why": "x", "at": "2026-06-09T08:00"}, 1
    )
    assert named["at"] == "2026-06-09T08:00:00-06:00"
    described = {"installation": {}, "readings": [reading("2026-06-09T07:30")]}
    refused(shop, "/v1/triage", described, "readings.0.at", "has no offset")


def test_an_attendance_and_its_visits_are_by_the_clock_of_the_site(shop) -> None:
    shop.unit()
    inside = {"unit": "GU-0007", "kind": "maintenance", "readings": [reading("2026-06-09T08:10")]}
    new = {"id": str(uuid4()), "site": SITE, "crew": ["rhea"], "arrived_at": "2026-06-09T08:00", "visits": [inside]}
    made = shop.post("/v1/attendances", new)
    assert made["attendance"]["arrived_at"] == "2026-06-09T08:00:00-06:00"
    visited = made["visits"][0]["visit"]
    assert visited["arrived_at"] == "2026-06-09T08:00:00-06:00"
    assert visited["readings"][0]["at"] == "2026-06-09T08:10:00-06:00"
    path = f"/v1/attendances/{new['id']}"
    changed = shop.patch(path, {"left_at": "2026-06-09T09:00", "why": "forgotten"}, 1)
    assert changed["left_at"] == "2026-06-09T09:00:00-06:00"
    assert shop.get(f"/v1/visits/{visited['id']}")["left_at"] == "2026-06-09T09:00:00-06:00"
    again = shop.ask("PATCH", f"/v1/visits/{visited['id']}", {"left_at": "2026-06-09T09:00", "why": "x"}, If_Match="*")
    assert again.status_code == 200, again.text
    assert shop.post("/v1/attendances", new) == made


def test_an_assessment_and_triage_take_local_times(shop) -> None:
    shop.unit()

    def asked(end):
        body = visit(arrived_at=f"2026-06-08T09:05{end}", readings=[reading(f"2026-06-08T09:15{end}")])
        question = {"unit": "GU-0007", "readings": [reading(f"2026-06-09T14:30{end}")]}
        return shop.ask("POST", "/v1/assessments", body).json, shop.ask("POST", "/v1/triage", question).json

    answers = asked(""), asked(":00-06:00")
    assert answers[0] == answers[1]
    assert "findings" in answers[0][0]
    assert "explanations" in answers[0][1]


def test_lines_of_an_import_are_by_the_clock_of_the_site(shop) -> None:
    shop.unit()
    one, call, arrival = visit(), str(uuid4()), str(uuid4())
    lines = [
        {"record": "call", "id": call, "unit": "GU-0007", "received_at": "2026-06-08T08:00", "symptom": "warm_pour"},
        {"record": "attendance", "id": arrival, "site": SITE, "crew": ["rhea"], "arrived_at": "2026-06-08T09:05"},
        {"record": "visit", **one, "attendance": arrival, "technician": "rhea"},
    ]
    text = b"\n".join(map(orjson.dumps, lines))
    assert take_in(shop, text)["added"] == {"call": 1, "attendance": 1, "visit": 1}
    changes = {"complaint": {"symptom": "noisy", "reported_at": "2026-06-08T09:10"}, "why": "x"}
    made = {"visit": one["id"], "at": "2026-06-08T20:00:00Z", "by": "rhea"}
    correction = {"record": "correction", **made, "correction": changes}
    assert take_in(shop, orjson.dumps(correction))["added"] == {"correction": 1}
    stored = shop.get(f"/v1/visits/{one['id']}")
    assert stored["arrived_at"] == "2026-06-08T09:05:00-06:00"
    assert stored["complaint"]["reported_at"] == "2026-06-08T09:10:00-06:00"
    assert shop.get(f"/v1/calls/{call}")["received_at"] == "2026-06-08T08:00:00-06:00"
    again = take_in(shop, text + b"\n" + orjson.dumps(correction))
    assert again["unchanged"] == {"call": 1, "attendance": 1, "visit": 1, "correction": 1}, again


@pytest.mark.parametrize("how", ["visit", "attendance", "added"])
def test_the_likeliest_cause_of_a_visit_by_the_clock_of_its_site_is_stated(shop, how) -> None:
    shop.unit()
    shop.unit("GU-0008")
    strength = {"quantity": "glycol_strength", "value": "30 mass%", "when": "as_left"}
    shop.post("/v1/visits", visit(arrived_at="2026-05-08T09:05", readings=[strength]))
    named = {"cooler_temperature": "35 degF", "supply_voltage": "117 V"}
    warm = [
        reading("2026-06-08T09:15") | {"value": "70 degF"},
        *({"quantity": quantity, "value": value, "when": "as_found"} for quantity, value in named.items()),
        *({"quantity": "current", "component": code, "kind": kind, "value": "0 A", "when": "as_found"}
          for code, kind in (("fan-9", "condenser_fan"), ("compressor-9", "compressor"))),
    ]  # fmt: skip
    found = {"id": str(uuid4()), "unit": "GU-0007", "kind": "service_call", "readings": warm,
             "complaint": {"symptom": "warm_pour"}}  # fmt: skip
    arrival = {"id": str(uuid4()), "site": SITE, "crew": ["rhea"], "arrived_at": "2026-06-08T09:05"}
    other = {"unit": "GU-0008", "kind": "maintenance"}
    if how == "visit":
        answer = shop.post("/v1/visits", {**found, "arrived_at": "2026-06-08T09:05"})
    elif how == "attendance":
        answer = shop.post("/v1/attendances", {**arrival, "visits": [found]})["visits"][0]
    else:
        shop.post("/v1/attendances", {**arrival, "visits": [other]})
        answer = shop.post(f"/v1/attendances/{arrival['id']}/visits", found)

    assert "likely_cause" in {each["code"] for each in answer["assessment"]["findings"]}
