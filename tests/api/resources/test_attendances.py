"""/v1/attendances: one arrival at one site with visits at several units, all or nothing."""

import json

import pytest

from tests.api.resources.following import export, imported, take_in

ID = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1d01"
PATH = f"/v1/attendances/{ID}"
TAGS = ("GU-0001", "GU-0002", "GU-0003")
AT = {"arrived_at": "2026-06-09T17:00:00Z", "left_at": "2026-06-09T18:30:00Z"}
DONE = [{"task": "pump_check", "result": "done"}]


def visit(tag, **more):
    return {"unit": tag, "kind": "maintenance", "tasks": DONE, **more}


def attendance(*visits, **more):
    own = list(visits or map(visit, TAGS))
    return {"id": ID, "site": "lantern-quay", "crew": ["rhea", "tobin"], **AT, "visits": own} | more


@pytest.fixture
def site(shop):
    for tag in TAGS:
        shop.unit(tag)
    shop.post("/v1/technicians", {"code": "tobin", "name": "Tobin"})
    return shop


def hours(shop, year=2026):
    """Hours on site: of the customer, and of each unit by tag."""
    summary = shop.get(f"/v1/customers/lantern/service-summaries/{year}")
    each = {unit["tag"]: unit["time_on_site"]["total"]["value"] for unit in summary["units"]}
    return summary["time_on_site"]["total"]["value"], each


def test_one_arrival_makes_a_visit_at_each_unit(site):
    answer = site.post("/v1/attendances", attendance())
    visits = [each["visit"] for each in answer["visits"]]

    assert answer["attendance"] == site.get(PATH)
    assert answer["attendance"]["visits"] == [each["id"] for each in visits]
    assert [each["unit"] for each in visits] == list(TAGS)
    for each in visits:
        assert (each["attendance"], each["technician"], each["crew"]) == (ID, "rhea", ["tobin"])
        assert each["arrived_at"] == "2026-06-09T11:00:00-06:00"
        assert each | {"corrections": []} == site.get(f"/v1/visits/{each['id']}")
    assert all("pump_check" in {due["task"] for due in each["due_items"]} for each in answer["visits"])
    assert [site.due(tag)["pump_check"]["last_done_on"] for tag in TAGS] == ["2026-06-09"] * 3


def test_time_on_site_counts_once(site):
    site.post("/v1/attendances", attendance())
    whole, each = hours(site)

    assert whole == pytest.approx(90)  # minutes: 17:00 to 18:30
    assert each == pytest.approx(dict.fromkeys(TAGS, 30))
    assert site.get("/v1/fleet-years/2026")["hours_on_site"]["value"] == pytest.approx(90)


def test_the_likely_cause_is_named_of_a_unit_by_its_former_tag_too(site):
    site.patch("/v1/units/GU-0001", {"tag": "GU-0101"}, site.get("/v1/units/GU-0001")["version"])
    found = {
        "kind": "service_call", "complaint": {"symptom": "warm_pour"}, "outcome": "running",
        "readings": [{"quantity": "bath_temperature", "value": "70 degF", "when": "as_found"},
                     {"quantity": "current", "component": "fan-1", "value": "0 A", "when": "as_found"},
                     {"quantity": "current", "component": "compressor-1", "kind": "compressor", "value": "0 A",
                      "when": "as_found"},
                     {"quantity": "supply_voltage", "value": "117 V", "when": "as_found"}],
    }  # fmt: skip
    body = attendance(visit("GU-0001", **found), visit("GU-0002", **found))
    named = {
        each["visit"]["unit"]: [f["sentence"] for f in each["assessment"]["findings"] if f["code"] == "likely_cause"]
        for each in site.post("/v1/attendances", body)["visits"]
    }

    assert len(named["GU-0002"]) == 1
    assert named["GU-0101"] == named["GU-0002"]


def test_time_on_site_is_shared_among_the_visits_that_count(site):
    answer = site.post("/v1/attendances", attendance())
    path = f"/v1/visits/{answer['visits'][0]['visit']['id']}"
    site.ask("POST", f"{path}/void", {"reason": "wrong unit"}, If_Match='"1"')
    without = hours(site)
    site.ask("POST", f"{path}/unvoid", {"reason": "it was the right unit"}, If_Match='"2"')

    assert without == (pytest.approx(90), {"GU-0001": 0, "GU-0002": pytest.approx(45), "GU-0003": pytest.approx(45)})
    assert hours(site)[1] == pytest.approx(dict.fromkeys(TAGS, 30))
    assert site.get(PATH)["visits"] == [each["visit"]["id"] for each in answer["visits"]]


def test_all_or_nothing_with_every_fault(site):
    before = site.counted()
    wrong = [visit(TAGS[0], kind="party"), visit("GU-none"), visit(TAGS[1], tasks=DONE * 2), visit(TAGS[1])]
    syntax = site.ask("POST", "/v1/attendances", attendance(*wrong))
    body = attendance(*wrong[1:], crew=["rhea", "nobody"], left_at="2026-06-09T16:00:00Z")
    refused = site.ask("POST", "/v1/attendances", body)

    assert {fault["field"] for fault in syntax.json["errors"]} == {
        "visits.0.kind", "visits.1.unit", "visits.2.tasks.1.task", "visits.3.unit",
    }  # fmt: skip
    assert {fault["field"] for fault in refused.json["errors"]} == {
        "left_at", "crew.1", "visits.0.unit", "visits.1.tasks.1.task", "visits.2.unit",
    }  # fmt: skip
    assert site.counted() == before


def test_units_of_another_site_are_refused(site):
    site.post("/v1/sites", site.example("site", code="other-quay"))
    site.unit("GU-0009", site="other-quay")
    refused = site.ask("POST", "/v1/attendances", attendance(visit("GU-0009")))

    assert [fault["message"] for fault in refused.json["errors"]] == [
        "stands at the site 'other-quay', not at 'lantern-quay'"
    ]


@pytest.mark.parametrize("access", ["no_access", "cancelled_at_door"])
def test_without_access_no_visit_counts_as_performed(site, access):
    due = site.due(TAGS[0])
    refused = site.ask("POST", "/v1/attendances", attendance(access=access))
    shown = site.post("/v1/attendances", attendance(access=access, visits=[], note="nobody opened"))
    empty = site.ask("POST", "/v1/attendances", attendance(visits=[], id=ID.replace("d01", "d02")))

    assert [fault["field"] for fault in refused.json["errors"]] == ["access"]
    assert (shown["attendance"]["access"], shown["visits"]) == (access, [])
    assert [fault["field"] for fault in empty.json["errors"]] == ["visits"]
    assert site.due(TAGS[0]) == due
    assert site.walk("/v1/visits") == []
    assert [each["id"] for each in site.walk(f"/v1/attendances?access={access}")] == [ID]
    assert site.walk("/v1/attendances?access=done") == []


def test_posting_it_twice_makes_one(site):
    body = attendance()
    first, second = (site.ask("POST", "/v1/attendances", body) for _ in range(2))
    other = site.ask("POST", "/v1/attendances", attendance(note="other"))

    assert (first.status_code, second.status_code, first.text) == (201, 201, second.text)
    assert first.headers["Location"] == PATH
    assert other.status_code == 422
    assert len(site.walk("/v1/visits")) == 3


def test_a_correction_corrects_its_visits(site):
    answer = site.post("/v1/attendances", attendance())
    voided, kept, _ = (each["visit"]["id"] for each in answer["visits"])
    site.ask("POST", f"/v1/visits/{voided}/void", {"reason": "wrong unit"}, If_Match='"1"')
    changed = site.patch(PATH, {"left_at": "2026-06-09T19:00:00Z", "crew": ["tobin"], "why": "one left"}, 1)
    found = site.get(f"/v1/visits/{kept}")
    back = site.ask("POST", f"/v1/visits/{voided}/unvoid", {"reason": "it was right"}, If_Match='"2"')

    assert (changed["left_at"], changed["crew"], changed["version"]) == ("2026-06-09T13:00:00-06:00", ["tobin"], 2)
    assert (found["left_at"], found["technician"], found["crew"]) == (changed["left_at"], "tobin", [])
    assert [(made["why"], made["former"]["technician"]) for made in found["corrections"]] == [("one left", "rhea")]
    assert hours(site)[0] == pytest.approx(120)
    assert (back.status_code, back.json["errors"][0]["field"]) == (422, "left_at")


def test_what_a_visit_has_of_its_attendance_is_corrected_there(site):
    answer = site.post("/v1/attendances", attendance())
    path = f"/v1/visits/{answer['visits'][0]['visit']['id']}"
    refused = site.ask("PATCH", path, {"left_at": None, "crew": [], "why": "x"}, If_Match='"1"')
    kept = site.patch(path, {"work": "oiled", "crew": ["tobin"], "why": "x"}, 1)["visit"]

    assert [fault["field"] for fault in refused.json["errors"]] == ["left_at", "crew"]
    assert (kept["work"], kept["attendance"]) == ("oiled", ID)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"access": "no_access"}, "access"),
        ({"site": "other-quay"}, "site"),
        ({"crew": ["rhea", "rhea"]}, "crew.1"),
        ({"left_at": "2026-06-09T16:00:00Z"}, "left_at"),
        ({"why": None}, "why"),
    ],
)
def test_a_correction_that_cannot_be_true_is_refused(site, changes, field):
    site.post("/v1/sites", site.example("site", code="other-quay"))
    site.post("/v1/attendances", attendance())
    before = site.counted()
    refused = site.ask("PATCH", PATH, {"why": "x", **changes}, If_Match='"1"')

    assert [fault["field"] for fault in refused.json["errors"]] == [field]
    assert site.counted() == before


def test_a_correction_to_a_time_at_which_the_unit_stood_elsewhere_is_refused(site):
    site.post("/v1/sites", site.example("site", code="other-quay"))
    site.post("/v1/attendances", attendance())
    site.post(f"/v1/units/{TAGS[1]}/locations", {"site": "other-quay", "from": "2026-06-05", "reason": "swap"})
    site.post(f"/v1/units/{TAGS[1]}/locations", {"site": "lantern-quay", "from": "2026-06-07", "reason": "swap"})
    before = site.counted()
    times = {"arrived_at": "2026-06-06T17:00:00Z", "left_at": "2026-06-06T18:00:00Z"}
    refused = site.ask("PATCH", PATH, times | {"why": "wrong day"}, If_Match='"1"')

    assert [fault["field"] for fault in refused.json["errors"]] == ["visits.1.unit"]
    assert "'other-quay'" in refused.json["errors"][0]["message"]
    assert site.counted() == before


def test_export_and_import_keep_attendances_and_what_follows(site):
    answer = site.post("/v1/attendances", attendance(visit(TAGS[2]), visit(TAGS[0]), visit(TAGS[1])))
    voided = answer["visits"][0]["visit"]["id"]
    site.patch(PATH, {"left_at": "2026-06-09T19:00:00Z", "note": "back door", "why": "x"}, 1)
    site.ask("POST", f"/v1/visits/{voided}/void", {"reason": "wrong unit"}, If_Match='"2"')
    site.post("/v1/attendances", attendance(id=ID.replace("d01", "d02"), access="no_access", visits=[]))
    asked = (
        "/v1/attendances",
        f"/v1/visits/{voided}",
        "/v1/customers/lantern/service-summaries/2026",
        "/v1/fleet-years/2026",
    )
    before, exported = [untold(site.get(path)) for path in asked], export(site)
    imported(site, exported)

    assert [untold(site.get(path)) for path in asked] == before
    assert take_in(site, exported)["added"] == {}
    changed = exported.replace(b'"back door"', b'"front door"')
    assert take_in(site, changed)["changed"] == {"attendance": 1}
    assert site.get(PATH)["note"] == "front door"


def untold(found):
    """Without what belongs to the database: when and by whom it was posted, versions."""
    if isinstance(found, list):
        return [untold(each) for each in found]
    if not isinstance(found, dict):
        return found
    left_out = ("posted_at", "posted_by", "version", "data_state")
    return {name: untold(part) for name, part in found.items() if name not in left_out}


def test_a_visit_of_a_file_names_an_attendance_that_is_stored(site):
    line = {"record": "visit", "id": ID, "unit": TAGS[0], "kind": "maintenance", **AT, "attendance": ID}
    refused = site.app.test_client().post(
        "/v1/imports",
        data=json.dumps(line),
        content_type="application/x-ndjson",
        headers={"Authorization": f"Bearer {site.tokens['owner']}"},
    )

    assert refused.status_code == 422, refused.text
    assert "there is no attendance" in refused.text


def test_visits_alone_still_work(site):
    made = site.visit("2026-06-09", unit=TAGS[0], left_at="2026-06-09T19:00:00Z")["visit"]

    assert made["attendance"] is None
    assert hours(site)[0] == pytest.approx(60)


def test_attendances_are_listed_newest_first(site):
    for n, hour in ((1, 17), (2, 19), (3, 18)):
        more = {"id": f"{ID[:-1]}{n}", "arrived_at": f"2026-06-09T{hour}:00:00Z", "left_at": None}
        site.post("/v1/attendances", attendance(visit(TAGS[n - 1]), **more))
    listed = site.walk("/v1/attendances?limit=1")

    assert [each["id"][-1] for each in listed] == ["2", "3", "1"]
    assert listed == [site.get(f"/v1/attendances/{each['id']}") for each in listed]
    assert len(site.walk("/v1/attendances?since=2026-06-09T18:00:00Z&site=lantern-quay")) == 2


FORGOTTEN = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1d07"


def test_a_forgotten_unit_is_added_and_the_time_shared_anew(site):
    site.post("/v1/attendances", attendance(visit(TAGS[0]), visit(TAGS[1])))
    answer = site.post(f"{PATH}/visits", visit(TAGS[2], id=FORGOTTEN))
    again = site.post(f"{PATH}/visits", visit(TAGS[2], id=FORGOTTEN))

    assert again == answer
    added = answer["visit"]
    assert (added["id"], added["attendance"], added["technician"]) == (FORGOTTEN, ID, "rhea")
    assert (added["arrived_at"], added["crew"]) == ("2026-06-09T11:00:00-06:00", ["tobin"])
    assert FORGOTTEN in site.get(PATH)["visits"]
    assert hours(site) == (pytest.approx(90), pytest.approx(dict.fromkeys(TAGS, 30)))
    assert site.due(TAGS[2])["pump_check"]["last_done_on"] == "2026-06-09"


def test_a_visit_that_does_not_belong_to_an_attendance_is_not_added(site):
    site.post("/v1/attendances", attendance(visit(TAGS[0]), visit(TAGS[1])))
    site.post("/v1/sites", {"code": "pier", "customer": "lantern", "name": "Pier", "time_zone": "America/Denver"})
    site.post("/v1/units", {"tag": "GU-0009", "site": "pier"})
    before = site.counted()
    path = f"{PATH}/visits"
    refused = [
        site.ask("POST", path, visit(TAGS[0], id=FORGOTTEN)),
        site.ask("POST", path, visit("GU-0009", id=FORGOTTEN)),
        site.ask("POST", path, visit("GU-none", id=FORGOTTEN)),
        site.ask("POST", path, visit(TAGS[2], id=FORGOTTEN, arrived_at="2026-06-09T17:00:00Z")),
    ]
    faults = [[(each["field"], each["message"][:12]) for each in answer.json["errors"]] for answer in refused]

    assert [answer.status_code for answer in refused] == [422] * 4
    assert [[field for field, _ in each] for each in faults] == [["unit"], ["unit"], ["unit"], ["arrived_at"]]
    assert site.counted() == before
    assert site.ask("POST", "/v1/attendances/0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1dff/visits",
                    visit(TAGS[2], id=FORGOTTEN)).status_code == 404  # fmt: skip


def test_a_visit_is_not_added_where_nobody_got_in(site):
    site.post("/v1/attendances", attendance(access="no_access", visits=[]))
    answer = site.ask("POST", f"{PATH}/visits", visit(TAGS[0], id=FORGOTTEN))

    assert answer.status_code == 422
    assert "correct that first" in answer.json["errors"][0]["message"]


def test_an_added_visit_is_there_after_export_and_import(site):
    site.post("/v1/attendances", attendance(visit(TAGS[0]), visit(TAGS[1])))
    site.post(f"{PATH}/visits", visit(TAGS[2], id=FORGOTTEN))
    asked = (PATH, f"/v1/visits/{FORGOTTEN}", "/v1/customers/lantern/service-summaries/2026")
    before = [untold(site.get(path)) for path in asked]
    imported(site, export(site))

    assert [untold(site.get(path)) for path in asked] == before
