"""Everything that is wrong with what was posted is named in one refusal."""

import json

import pytest

from tests.api.resources.following import take_in
from tests.api.resources.test_attendances import AT, attendance
from tests.api.resources.test_attendances import visit as attended

ID = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1d02"
EARLIER = {"arrived_at": "2026-06-09T17:00:00Z", "left_at": "2026-06-09T16:00:00Z"}
BY_THE_CLOCK = {"arrived_at": "2026-06-09T11:00", "left_at": "2026-06-09T10:00"}


@pytest.fixture
def site(shop):
    shop.unit("GU-0001")
    return shop


def faults(shop, path, body):
    answer = shop.ask("POST", path, body)
    assert answer.status_code == 422, answer.text
    return {each["field"]: each["message"] for each in answer.json["errors"]}


def visit(**more):
    return {"id": ID, "unit": "GU-0042", "kind": "maintenance", "technician": "rhea", **more}


@pytest.mark.parametrize("times", [EARLIER, BY_THE_CLOCK])
def test_a_visit_to_an_unknown_unit_says_what_else_is_wrong(site, times):
    wrong = {"crew": ["nobody"], "tasks": [{"task": "pump_check", "result": "not_done"}]}
    found = faults(site, "/v1/visits", visit(**times, **wrong))

    assert set(found) == {"unit", "left_at", "crew.0", "tasks.0.reason"}
    assert "is before arrived_at" in found["left_at"]


def test_times_that_may_be_right_at_some_site_are_not_refused(site):
    now = {"arrived_at": "2026-06-10T08:00", "left_at": "2026-06-10T08:30"}  # by a clock ahead of UTC

    assert set(faults(site, "/v1/visits", visit(**now))) == {"unit"}
    assert set(faults(site, "/v1/visits", visit(**now | {"left_at": "2026-06-09T19:30:00Z"}))) == {"unit"}


@pytest.mark.parametrize("site_code", ["lantern-quay", "nowhere"])
def test_an_attendance_names_all_that_is_not_recorded(site, site_code):
    wrong = attended("GU-0042", tasks=[{"task": "pump_check", "result": "not_done"}])
    body = attendance(attended("GU-0001"), wrong, site=site_code, crew=["rhea", "nobody"], **EARLIER)
    expected = {"left_at", "crew.1", "visits.1.unit", "visits.1.tasks.0.reason"}

    assert set(faults(site, "/v1/attendances", body)) == expected | ({"site"} if site_code == "nowhere" else set())


def test_what_cannot_be_read_is_refused_with_what_is_not_recorded(site):
    body = attendance(attended("GU-0042", colour="blue"), crew=["nobody", "rhea"], site="nowhere", **AT)

    assert set(faults(site, "/v1/attendances", body)) == {"visits.0.colour", "visits.0.unit", "crew.0", "site"}


def test_a_unit_of_another_site_is_named_with_what_else_is_wrong(site):
    site.post("/v1/sites", site.example("site", code="other-quay"))
    body = attendance(attended("GU-0001", kind="follow_up"), site="other-quay", crew=["rhea"], **AT)

    assert set(faults(site, "/v1/attendances", body)) == {"visits.0.unit", "visits.0.outcome"}


TWICE = [{"code": "a", "beer_lines": [{"tap": "1"}, {"tap": "2"}, {"tap": "1"}]}]
TAP = ("trunks.0.beer_lines.2.tap", "appears twice in one trunk")


def test_a_tap_is_of_one_line_of_a_trunk(site):
    assert TAP in faults(site, "/v1/units", site.example("unit", tag="GU-0009", trunks=TWICE)).items()
    answer = site.ask("PATCH", "/v1/units/GU-0001", {"trunks": TWICE}, If_Match="*")
    assert [(each["field"], each["message"]) for each in answer.json["errors"]] == [TAP]


def test_a_unit_recorded_with_a_tap_twice_is_imported_and_can_be_changed(site):
    line = site.example("unit", tag="GU-0009", trunks=TWICE, record="unit")
    take_in(site, json.dumps(line).encode())

    version = site.get("/v1/units/GU-0009")["version"]
    site.patch("/v1/units/GU-0009", {"place": "in the cellar"}, version)


LEFT = "left on 2026-06-09, but the visit is on 2026-06-09: correct one of the two"


@pytest.fixture
def left(site):
    """Rhea's last day was 8 June."""
    site.post("/v1/technicians", {"code": "tobin", "name": "Tobin"})
    site.patch("/v1/technicians/rhea", {"left_on": "2026-06-09"}, 1)
    return site


def test_who_had_left_makes_no_visit(left):
    at = {"unit": "GU-0001", **AT}
    assert faults(left, "/v1/visits", visit(**at)) == {"technician": LEFT}
    assert faults(left, "/v1/visits", visit(**at, technician="tobin", crew=["rhea"])) == {"crew.0": LEFT}
    assert faults(left, "/v1/attendances", attendance(attended("GU-0001"))) == {"crew.0": LEFT}

    made = left.visit("2026-06-08", unit="GU-0001", technician="rhea")
    path, version = f"/v1/visits/{made['visit']['id']}", made["visit"]["version"]
    left.patch(path, {"advice": "None.", "why": "forgotten"}, version)
    moved = left.ask("PATCH", path, {"arrived_at": "2026-06-09T18:00:00Z", "why": "wrong day"}, If_Match="*")
    assert [each["message"] for each in moved.json["errors"]] == [LEFT]


def test_who_had_left_is_named_beside_a_unit_that_is_not_recorded(left):
    at = {"arrived_at": AT["arrived_at"], "technician": "tobin", "crew": ["rhea"]}
    gone = "left on 2026-06-09, but the visit is on 2026-06-09: correct one of the two"
    assert faults(left, "/v1/visits", visit(**at)).keys() == {"unit", "crew.0"}
    assert faults(left, "/v1/visits", visit(**at | {"arrived_at": "2026-06-09T08:00"}))["crew.0"] == gone
    body = attendance(attended("GU-0001"), site="nowhere", crew=["tobin", "rhea"], arrived_at="2026-06-09T08:00")
    assert faults(left, "/v1/attendances", body | {"left_at": None}).keys() == {"site", "crew.1"}
    early = {"arrived_at": "2026-06-09T03:00:00Z"}  # still the day before, west of here
    assert faults(left, "/v1/visits", visit(**at | early)).keys() == {"unit"}


def test_the_crew_of_an_attendance_is_corrected_to_who_was_there(left):
    left.post("/v1/attendances", attendance(attended("GU-0001"), crew=["tobin"]))
    body = {"crew": ["tobin", "rhea"], "why": "both were there"}
    answer = left.ask("PATCH", f"/v1/attendances/{attendance()['id']}", body, If_Match="*")

    assert {each["field"]: each["message"] for each in answer.json["errors"]} == {"crew.1": LEFT}


def test_a_visit_after_the_leaving_is_imported(left):
    line = {"record": "visit", **visit(unit="GU-0001", **AT)}

    take_in(left, json.dumps(line).encode())


DIMENSION = {"quantity": "bath_temperature", "value": "5 A", "when": "as_found"}
NOT_DONE = {"task": "pump_check", "result": "not_done"}


def test_what_cannot_be_read_is_refused_with_what_cannot_be_true(site):
    wrong = {
        "advise": "None.",
        "readings": [{"quantity": "colour", "value": "1 A", "when": "as_found"}, DIMENSION | {"value": "900 degC"}],
        "tasks": [NOT_DONE | {"result": "maybe"}, {"task": "pump_check", "result": "done"}, NOT_DONE],
        "observations": [{"code": "other"}],
    }
    found = faults(site, "/v1/visits", visit(unit="GU-0001", **AT, **wrong))

    refused = {"advise", "readings.0.quantity", "tasks.0.result"}
    assert refused < found.keys()
    assert found.keys() >= {"readings.1.value", "tasks.2.reason", "tasks.2.task", "observations.0.note"}
    assert "tasks.1.task" not in found


@pytest.mark.parametrize(
    ("wrong", "named"),
    [
        ({"by": "other", "firm": "Other Firm", "crew": ["rhea"]}, {"by"}),  # the firm would be ours, the crew twice
        ({"tecnician": "rhea", "technician": None, "crew": ["rhea"]}, {"tecnician"}),
        ({"left_at": "noon", "complaint": {"symptom": "other", "reported_at": AT["left_at"]}}, {"left_at"}),
        ({"left_at": "noon", "tasks": [NOT_DONE]}, {"left_at", "tasks.0.reason"}),
        ({"kind": None, "arrived_at": None, "readings": [DIMENSION]}, {"kind", "arrived_at", "readings.0.value"}),
    ],
)
def test_nothing_is_said_wrong_because_a_field_could_not_be_read(site, wrong, named):
    assert faults(site, "/v1/visits", visit(unit="GU-0001", **AT | wrong)).keys() == named


def test_an_attendance_names_what_cannot_be_read_and_what_cannot_be_true(site):
    first, last = attended("GU-0001", colour="blue"), attended("GU-0002", tasks=[NOT_DONE])
    body = attendance(first, last, crew=["rhea", "rhea"])
    assert faults(site, "/v1/attendances", body).keys() == {"visits.0.colour", "visits.1.tasks.0.reason", "crew.1",
                                                            "visits.1.unit"}  # fmt: skip
    assert faults(site, "/v1/attendances", attendance(first)).keys() == {"visits.0.colour", "crew.1"}
    del body["crew"]
    assert "visits.1.tasks.0.reason" in faults(site, "/v1/attendances", body)


def test_a_unit_names_what_cannot_be_read_and_what_cannot_be_true(site):
    parts = [
        {"code": "a", "kind": "spoon"},
        {"code": "b", "kind": "pump", "feeds": ["a"]},
        {"code": "b", "kind": "pump"},
    ]
    unit = site.example("unit", tag="GU-0009", components=parts, trunks=TWICE)
    expected = {"components.0.kind", "components.2.code", TAP[0]}
    assert faults(site, "/v1/units", unit).keys() == expected
    assert faults(site, "/v1/units", unit | {"site": "nowhere"}).keys() == expected | {"site"}
    unit["components"] = [{"code": "b", "kind": "pump", "feeds": ["a"]}]
    assert faults(site, "/v1/units", unit | {"site": "nowhere"}).keys() == {"components.0.feeds", TAP[0], "site"}
