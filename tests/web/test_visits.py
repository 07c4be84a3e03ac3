"""A visit written as a form: stored once, the same record as over the API, faults at their fields, roles kept."""

import re
from uuid import uuid4

import pytest

from tests.web.conftest import Browser, technician_of, text_of

VISIT = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77"
# As a form sends it: every field, most of them empty.
FORM = {
    "system": "us",
    "day": "2026-06-09",
    "arrived": "13:05",
    "left_at": "14:20",
    "kind": "service_call",
    "symptom": "warm_pour",
    "words": "pours warm since noon",
    "found:bath_temperature::": "47",
    "left:bath_temperature::": "",
    "found:glycol_supply_temperature::": "48,5",
    "found:current:pump-1:": "5.8",
    "strength_in": "brix",
    "found:glycol_strength::": "24.5",
    "bath:0": "41",
    "bath_at:0": "13:50",
    "bath:1": "36",
    "bath_at:1": "14:10",
    "task:condenser_clean": "done",
    "grade:condenser_clean": "heavy",
    "task:strainer_clean": "not_done",
    "reason:strainer_clean": "no spare screen",
    "part:switch-1": "failed",
    "condition:switch-1": "burnt",
    "seen": "airflow_obstructed",
    "outcome": "recovering",
    "advice": "Keep boxes away from the unit.",
    "internal_note": "ladder is loose",
    "do": "store",
}


@pytest.fixture
def at_unit(site) -> Browser:
    """Rhea's browser, at a fleet with the example's unit."""
    site.unit()
    return technician_of(site)


def send(browser, changes=None, visit_id=VISIT):
    return browser.send(f"/units/GU-0007/visits/{visit_id}", FORM | (changes or {}))


PRECAUTION = {"part:switch-1": "precaution", "condition:switch-1": "seized"}
ASKED = "Replaced as a precaution, yet the old one was seized, which counts as failed."


def test_a_precaution_that_had_failed_is_asked_back_once(at_unit, site) -> None:
    assert at_unit.open(f"/units/GU-0007/visits/{VISIT}").text.count('class="open-sure"') > 0
    asked = send(at_unit, PRECAUTION | {"reason:strainer_clean": ""})
    assert asked.status_code == 422
    page = text_of(asked.text)
    assert ASKED in page
    assert "is required for a task that was not done" in page  # what else is wrong comes with it
    assert site.ask("GET", f"/v1/visits/{VISIT}").status_code == 404

    assert send(at_unit, PRECAUTION | {"sure:switch-1": "1"}).status_code == 303
    (part,) = site.get(f"/v1/visits/{VISIT}")["replacements"]
    assert (part["reason"], part["condition"]) == ("precaution", "seized")
    again = send(at_unit, PRECAUTION)  # stored already: what was sent twice is not asked about
    assert ASKED not in text_of(again.text)


@pytest.mark.parametrize("changes", [{"condition:switch-1": "worn"}, {"part:switch-1": "failed"}])
def test_a_part_that_is_recorded_without_contradiction_is_not_asked_about(at_unit, changes) -> None:
    assert send(at_unit, PRECAUTION | changes).status_code == 303


def test_a_correction_is_asked_back_only_where_it_makes_the_contradiction(at_unit, site) -> None:
    send(at_unit, {"part:switch-1": "failed", "condition:switch-1": "seized"})
    path, more = f"/visits/{VISIT}/correct", {"why": "misread"}
    assert ASKED in text_of(at_unit.send(path, FORM | PRECAUTION | more | {"version": "1"}).text)
    assert at_unit.send(path, FORM | PRECAUTION | more | {"version": "1", "sure:switch-1": "1"}).status_code == 303
    ticked = re.search(r'name="sure:switch-1" value="1"( checked)?', at_unit.open(path).text)
    assert ticked is not None
    assert ticked[1]


def test_a_form_has_an_id_of_its_own_in_its_address(at_unit) -> None:
    places = [at_unit.open("/units/GU-0007/visits/new").headers["Location"] for _ in range(2)]

    assert all(re.fullmatch(r"/units/GU-0007/visits/[0-9a-f-]{36}", place) for place in places)
    assert places[0] != places[1]


def test_the_form_has_the_units_components_and_due_tasks(at_unit, site) -> None:
    page = at_unit.open(f"/units/GU-0007/visits/{VISIT}").text
    unit = site.get("/v1/units/GU-0007")

    assert {part["code"] for part in unit["components"]} <= set(re.findall(r'name="part:([^"]+)"', page))
    assert {task for task in site.due()} <= set(re.findall(r'name="task:([^"]+)"', page))
    assert 'type="number"' not in page
    assert page.count('inputmode="decimal"') > 20


def test_what_is_sent_is_stored_as_the_api_stores_it(at_unit, site) -> None:
    answer = send(at_unit)
    visit = site.get(f"/v1/visits/{VISIT}?units=us")

    assert (answer.status_code, answer.headers["Location"]) == (303, f"/visits/{VISIT}")
    assert (visit["technician"], visit["arrived_at"], visit["left_at"]) == (
        "rhea", "2026-06-09T13:05:00-06:00", "2026-06-09T14:20:00-06:00",
    )  # fmt: skip
    assert {(r["quantity"], r["value"]["entered"], r["when"], r.get("at")) for r in visit["readings"]} == {
        ("bath_temperature", "47 degF", "as_found", None),
        ("glycol_supply_temperature", "48.5 degF", "as_found", None),
        ("current", "5.8 A", "as_found", None),
        ("glycol_strength", "24.5 Brix", "as_found", None),
        ("bath_temperature", "41 degF", "as_left", "2026-06-09T13:50:00-06:00"),
        ("bath_temperature", "36 degF", "as_left", "2026-06-09T14:10:00-06:00"),
    }
    assert [(t["task"], t["result"], t.get("as_found"), t.get("reason")) for t in visit["tasks"]] == [
        ("condenser_clean", "done", "heavy", None),
        ("strainer_clean", "not_done", None, "no spare screen"),
    ]
    assert [(p["component"], p["reason"], p["condition"], p["evidence"]) for p in visit["replacements"]] == [
        ("switch-1", "failed", "burnt", "seen")
    ]
    assert (visit["complaint"]["symptom"], visit["outcome"]) == ("warm_pour", "recovering")


def test_sending_it_again_makes_no_second_visit(at_unit, site) -> None:
    assert [send(at_unit).status_code for _ in range(3)] == [303, 303, 303]
    assert [visit["id"] for visit in site.walk("/v1/visits")] == [VISIT]
    assert at_unit.open(f"/units/GU-0007/visits/{VISIT}").headers["Location"] == f"/visits/{VISIT}"


def test_the_same_id_with_other_content_is_refused(at_unit) -> None:
    send(at_unit)
    answer = send(at_unit, {"work": "something else"})

    assert answer.status_code == 422
    assert "something else" in answer.text


def test_faults_stand_at_their_fields_and_nothing_typed_is_lost(at_unit, site) -> None:
    wrong = {"found:bath_temperature::": "1,234.5", "outcome": "well", "work": "<b>typed</b> text"}
    answer = send(at_unit, wrong)
    page = answer.text

    assert answer.status_code == 422
    assert 'href="#f-found:bath_temperature::"' in page
    assert 'aria-describedby="fault-found:bath_temperature::"' in page
    assert 'href="#f-outcome"' in page
    assert 'value="1,234.5"' in page
    assert "&lt;b&gt;typed&lt;/b&gt; text" in page
    assert site.walk("/v1/visits") == []


def test_a_script_gets_the_id_or_the_faults_by_field(at_unit) -> None:
    path, json = f"/units/GU-0007/visits/{VISIT}", "application/json"
    refused = at_unit.send(path, FORM | {"found:bath_temperature::": "warm"}, Accept=json)
    stored = at_unit.send(path, FORM, Accept=json)

    assert (refused.status_code, list(refused.json["fields"])) == (422, ["found:bath_temperature::"])
    assert (stored.status_code, stored.json["id"]) == (201, VISIT)


def test_it_is_assessed_before_leaving_and_not_stored(at_unit, site) -> None:
    path = f"/units/GU-0007/visits/{VISIT}"
    page = at_unit.send(path, FORM | {"do": "assess"})
    live = at_unit.send(path, FORM | {"do": "assess"}, Accept="application/json")
    body = {
        "unit": "GU-0007", "kind": "service_call", "arrived_at": "2026-06-09T13:05:00-06:00",
        "readings": [{"quantity": "bath_temperature", "value": "47 degF", "when": "as_found"}],
    }  # fmt: skip
    over_the_api = site.ask("POST", "/v1/assessments?units=us", body).json

    assert page.status_code == 200
    assert len(live.json["findings"]) > 3
    assert all(finding["sentence"] in text_of(page.text) for finding in live.json["findings"])
    assert live.json["first"]
    assert all(sentence in text_of(page.text) for sentence in live.json["first"])
    assert {f["code"] for f in over_the_api["findings"]} & {f["code"] for f in live.json["findings"]}
    assert 'value="47"' in page.text
    assert site.walk("/v1/visits") == []


def test_the_page_of_a_stored_visit_has_the_cause_that_was_named_before_leaving(at_unit) -> None:
    path = f"/units/GU-0007/visits/{VISIT}"
    cold = FORM | {"left:bath_temperature::": "", "found:bath_temperature::": "29", "found:current:pump-1:": "0"}
    live = at_unit.send(path, cold | {"do": "assess"}, Accept="application/json")
    stored = at_unit.send(path, cold | {"do": "store"}, Accept="application/json")
    page = at_unit.open(stored.json["path"])

    cause = next(each for each in live.json["findings"] if each["code"] == "likely_cause")
    assert cause["sentence"] in text_of(page.text)
    assert all(sentence in text_of(page.text) for sentence in live.json["first"])


def test_what_another_person_wrote_on_this_device_is_not_sent_in_ones_own_name(at_unit, site) -> None:
    answer = at_unit.send(f"/units/GU-0007/visits/{VISIT}", FORM | {"writer": "tobin"})

    assert answer.status_code == 401  # not a refusal, which would end it: it waits for its writer to sign in
    assert "Sign in as that person to send it." in text_of(answer.text)
    assert site.walk("/v1/visits") == []


def test_the_units_are_those_in_which_the_form_was_shown(at_unit, site) -> None:
    send(at_unit, {"system": "si", "found:bath_temperature::": "8,3"})
    reading = site.get(f"/v1/visits/{VISIT}")["readings"][0]

    assert reading["value"]["entered"] == "8.3 degC"


def test_a_part_that_is_new_on_the_roof_and_work_by_others(at_unit, site) -> None:
    new = {"part:new": "failed", "kind:new": "pump", "code:new": "pump-2", "condition:new": "seized"}
    others = {"part:pump-1": "failed", "condition:pump-1": "noisy", "reported:pump-1": "1", "on:pump-1": "2026-05-02"}
    answer = at_unit.send(f"/units/GU-0007/visits/{VISIT}", FORM | new | others)
    parts = {part["component"]: part for part in site.get(f"/v1/visits/{VISIT}")["replacements"]}

    assert answer.status_code == 303
    assert "pump-2" in {part["code"] for part in site.get("/v1/units/GU-0007")["components"]}
    assert (parts["pump-1"]["by"], parts["pump-1"]["evidence"], parts["pump-1"]["on"]) == (
        "others", "reported", "2026-05-02",
    )  # fmt: skip


def test_a_call_is_answered_by_the_visit(at_unit, site) -> None:
    call = {"id": str(uuid4()), "received_at": "2026-06-09T16:00:00Z", "unit": "GU-0007", "symptom": "warm_pour"}
    site.post("/v1/calls", call)
    form = at_unit.open(f"/units/GU-0007/visits/{VISIT}").text
    send(at_unit, {"call": call["id"]})

    assert f'value="{call["id"]}" checked' in form
    assert site.get(f"/v1/calls/{call['id']}")["state"] == "answered"


def test_the_stored_visit_is_shown_with_what_it_means(at_unit) -> None:
    send(at_unit)
    page = at_unit.page(f"/visits/{VISIT}")

    assert "recovering" in page
    assert "Keep boxes away" in page
    assert "47 °F" in page


@pytest.mark.parametrize("visit_id", ["none", "form", VISIT.upper()])
def test_what_is_no_id_stores_nothing(at_unit, site, visit_id) -> None:
    assert send(at_unit, visit_id=visit_id).status_code == 404
    assert site.walk("/v1/visits") == []


def test_a_site_where_nobody_let_us_in(at_unit, site) -> None:
    place = at_unit.open("/sites/lantern-quay/no-access").headers["Location"]
    name = site.get("/v1/sites/lantern-quay")["name"]
    assert f"Nobody let us in at {name}" in at_unit.page(place)
    form = {"arrived_at": "2026-06-09T13:05", "crew": "rhea", "access": "no_access", "note": "asked next door"}

    assert 'value="2026-06-09T15:00"' in at_unit.open(place).text
    assert at_unit.send(place, form | {"crew": ""}).status_code == 422
    assert [at_unit.send(place, form).status_code for _ in range(2)] == [303, 303]
    arrival = site.walk("/v1/attendances")[0]
    assert (arrival["access"], arrival["arrived_at"]) == ("no_access", "2026-06-09T13:05:00-06:00")
    assert site.walk("/v1/visits") == []


def test_a_wrong_visit_is_voided_with_its_reason(at_unit, site) -> None:
    send(at_unit)
    form = {"version": "1", "reason": "at the wrong unit"}

    assert at_unit.send(f"/visits/{VISIT}/void", {"version": "1"}).status_code == 422
    assert at_unit.send(f"/visits/{VISIT}/void", form | {"version": "7"}).status_code == 422
    assert at_unit.send(f"/visits/{VISIT}/void", form).status_code == 303
    assert site.get(f"/v1/visits/{VISIT}")["void"]["reason"] == "at the wrong unit"
    assert "Voided: at the wrong unit" in at_unit.page(f"/visits/{VISIT}")
    assert at_unit.send(f"/visits/{VISIT}/void", form | {"version": "2"}).status_code == 422


def test_the_customer_gets_the_visit_on_one_page(at_unit) -> None:
    send(at_unit)
    answer = at_unit.open(f"/visits/{VISIT}/report")

    assert (answer.status_code, answer.mimetype, answer.data[:4]) == (200, "application/pdf", b"%PDF")
