"""Triage over HTTP: of a recorded unit with its history, of one that is only described, and as a dialogue."""

from dataclasses import replace
from uuid import uuid4

import pytest

from service.api.state import EXTENSION
from service.domain.triage.explanations import EXPLANATIONS

DARK = {"unit": "GU-0007", "symptom": "unit_dead", "observations": [{"code": "display_dark"}]}


def ask(shop, body, query="?units=us", **more):
    answer = shop.ask("POST", f"/v1/triage{query}", body, **more)
    assert answer.status_code == 200, answer.text
    return answer.get_json()


def probability(answer, code):
    return sum(each["probability"] for each in answer["explanations"] if each["code"] == code)


@pytest.mark.parametrize("role", ["technician", "dispatcher", "owner"])
def test_a_call_that_nobody_has_attended_is_triaged(stocked, role):
    answer = ask(stocked, DARK, role=role)

    assert answer["explanations"][0]["code"] == "no_power"
    assert answer["next"][0]["risk"] == "none"
    assert len(answer["cautions"]) == len(set(answer["cautions"]))


def test_a_reader_may_not_ask(stocked):
    assert stocked.ask("POST", "/v1/triage", DARK, role="reader").status_code == 403


def test_it_is_a_dialogue_one_more_reading_at_a_time(stocked):
    first = ask(stocked, DARK)
    before = {"quantity": "voltage_before", "component": "switch-1", "value": "119 V"}
    behind = {"quantity": "voltage_behind", "component": "switch-1", "value": "0 V"}
    second = ask(stocked, DARK | {"readings": [before]})
    third = ask(stocked, DARK | {"readings": [before, behind]})

    assert probability(first, "no_power") < 0.97 < probability(third, "no_power")
    assert third["state"]["code"] == "off"
    assert {each["code"] for each in second["explanations"][:2]} == {"no_power", "controller_dark_or_not_calling"}


def test_a_unit_that_is_only_described_is_triaged_too(shop):
    described = {"bath": {"set_point": "28 degF"}, "refrigeration": {"refrigerant": "R-134a", "metering": "capillary"}}
    answer = ask(
        shop,
        {
            "installation": described,
            "elevation": "5280 ft",
            "symptom": "warm_pour",
            "readings": [
                {"quantity": "keg_temperature", "value": "48 degF"},
                {"quantity": "cooler_temperature", "value": "36 degF"},
            ],
        },
    )

    assert answer["explanations"][0]["code"] == "keg_not_cold"
    compared = answer["explanations"][0]["predicted"][0]
    assert (compared["measured"]["unit"], compared["uncertainty"]["unit"]) == ("degF", "deltaF")


def test_the_units_own_history_shifts_the_priors(shop):
    shop.unit()
    plain = ask(shop, {"unit": "GU-0007", "symptom": "unit_dead"})
    for number, day in enumerate(("2026-02-03", "2026-04-07")):
        burnt = {"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}
        shop.post(
            "/v1/visits",
            {
                "id": f"0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b{number:02}",
                "unit": "GU-0007",
                "kind": "service_call",
                "arrived_at": f"{day}T10:00:00-07:00",
                "replacements": [burnt],
            },
        )
    burnt_twice = ask(shop, {"unit": "GU-0007", "symptom": "unit_dead"})

    assert probability(burnt_twice, "no_power") > probability(plain, "no_power") + 0.1
    assert burnt_twice["explanations"][0]["because"] == [
        "The power switch was replaced 2 times in two years as failed."
    ]


def test_answers_come_in_the_units_of_the_caller(stocked):
    body = DARK | {"readings": [{"quantity": "cooler_temperature", "value": "35 degF"}]}
    shown = {system: ask(stocked, body, f"?units={system}") for system in ("us", "si")}

    by = {system: {each["code"]: each["by"] for each in answer["ruled_out"]} for system, answer in shown.items()}
    assert "cooler_temperature 35 °F" in by["us"]["cooler_warm"]
    assert "cooler_temperature 1.7 °C" in by["si"]["cooler_warm"]
    assert shown["us"]["explanations"][0]["probability"] == shown["si"]["explanations"][0]["probability"]


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"unit": "GU-9999"}, "unit"),
        ({}, "unit"),
        (
            {"unit": "GU-0007", "readings": [{"quantity": "cooler_temperature", "value": "400 degF"}]},
            "readings.0.value",
        ),
        ({"unit": "GU-0007", "readings": [{"quantity": "current", "value": "4 A"}]}, "readings.0.component"),
        ({"unit": "GU-0007", "observations": [{"code": "ghost"}]}, "observations.0.code"),
        ({"unit": "GU-0007", "installation": {}}, "unit"),
        (
            DARK
            | {
                "observations": [
                    {"code": "display_dark"},
                    {"code": "fan_turning"},
                    {"code": "display_dark", "present": False},
                ]
            },
            "observations.2.present",
        ),
    ],
)
def test_what_cannot_be_is_refused(stocked, body, field):
    answer = stocked.ask("POST", "/v1/triage", body)

    assert answer.status_code == 422
    assert field in {fault["field"] for fault in answer.get_json()["errors"]}


def test_the_same_answer_given_twice_counts_once(stocked):
    assert ask(stocked, DARK | {"observations": DARK["observations"] * 2}) == ask(stocked, DARK)


COLD_RATING = {"rated_ambient": "20 degF", "rated_bath": "100 degF"}
NO_COOLING = {"rated_cooling": "0 W"}


@pytest.mark.parametrize(
    ("part", "values"),
    [
        ("refrigeration", NO_COOLING),
        ("refrigeration", COLD_RATING),
        ("refrigeration", {"clean_split": "0 deltaF"}),
        ("supply", {"voltage": "0 V"}),
        ("bath", {"volume": "0 gal", "set_point": "100 degF"}),
    ],
)
def test_a_record_for_which_the_model_has_no_meaning_is_refused_by_its_field(shop, part, values):
    shop.unit(**{part: values})
    recorded = shop.ask("POST", "/v1/triage", {"unit": "GU-0007"})
    described = shop.ask("POST", "/v1/triage", {"installation": {part: values}})

    assert (recorded.status_code, described.status_code) == (422, 422)
    assert {fault["field"] for fault in recorded.get_json()["errors"]} == {"unit"}
    for name in values:
        assert any(f"{part}.{name}" in fault["message"] for fault in recorded.get_json()["errors"])
    found = {fault["field"] for fault in described.get_json()["errors"]}
    assert found == {f"installation.{part}.{name}" for name in values}


def test_the_explanations_and_observations_are_listed(shop):
    listed = shop.get("/v1/triage/explanations")

    assert [each["code"] for each in listed["explanations"]] == [each.code for each in EXPLANATIONS]
    assert all(each["test"] and each["remedy"] for each in listed["explanations"])
    assert {"display_dark", "fan_turning"} <= {each["code"] for each in listed["observations"]}


def test_a_visit_that_answers_a_call_is_weighed_alike_before_it_is_stored_and_afterwards(shop):
    """The call was about noise; who came found that it pours warm."""
    shop.unit()
    call = {"id": str(uuid4()), "received_at": "2026-06-09T14:00:00Z", "symptom": "noisy", "unit": "GU-0007"}
    shop.post("/v1/calls", call)
    new = {
        "unit": "GU-0007", "kind": "service_call", "arrived_at": "2026-06-09T18:00:00Z", "outcome": "running",
        "calls": [call["id"]], "complaint": {"symptom": "warm_pour"},
        "readings": [{"quantity": "bath_temperature", "value": "70 degF", "when": "as_found"},
                     {"quantity": "current", "component": "fan-1", "value": "0 A", "when": "as_found"},
                     {"quantity": "current", "component": "compressor-1", "kind": "compressor", "value": "0 A",
                      "when": "as_found"},
                     {"quantity": "supply_voltage", "value": "117 V", "when": "as_found"}],
    }  # fmt: skip
    before = shop.ask("POST", "/v1/assessments", new).json
    stored = shop.post("/v1/visits", new | {"id": str(uuid4())})
    corrected = shop.patch(f"/v1/visits/{stored['visit']['id']}", {"work": "none", "why": "left out"}, 1)

    assert "likely_cause" in {each["code"] for each in before["findings"]}
    assert before["findings"] == stored["assessment"]["findings"] == corrected["assessment"]["findings"]


def test_whatever_weighs_explanations_does_it_where_the_server_has_it_done(stocked, monkeypatch):
    asked = []

    def weigh(function, *arguments):
        asked.append(function.__name__)
        return function(*arguments)

    state = stocked.app.extensions[EXTENSION]
    elsewhere = replace(state, computing=replace(state.computing, weigh=weigh))
    monkeypatch.setitem(stocked.app.extensions, EXTENSION, elsewhere)
    ask(stocked, {"unit": "GU-0007", "symptom": "warm_pour"})
    complaint = {
        "complaint": {"symptom": "warm_pour"},
        "readings": [{"quantity": "bath_temperature", "value": "52 degF", "when": "as_found"}],
        "outcome": "running",
    }
    new = {"unit": "GU-0007", "kind": "service_call", "arrived_at": "2026-05-02T18:00:00Z", **complaint}
    assert stocked.ask("POST", "/v1/assessments", new).status_code == 200
    made = stocked.visit("2026-05-02", kind="service_call", **complaint)["visit"]
    void = {"reason": "posted twice"}
    assert stocked.ask("POST", f"/v1/visits/{made['id']}/void", void, If_Match='"1"').status_code == 200
    assert stocked.ask("POST", f"/v1/visits/{made['id']}/unvoid", void, If_Match='"2"').status_code == 200

    assert asked == ["diagnose", *["likely_cause"] * 3]  # of a voided visit nothing is weighed
