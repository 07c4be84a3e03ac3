"""Entering as people write: what was meant, all problems at once, and days on which the unit did not stand there."""

import pytest

VISIT = {"unit": "GU-0007", "kind": "maintenance", "arrived_at": "2026-06-09T18:00:00Z"}
ID = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77"


def errors(answer):
    assert answer.status_code == 422, answer.text
    return {fault["field"]: fault["message"] for fault in answer.json["errors"]}


@pytest.mark.parametrize(
    ("changes", "field", "meant"),
    [
        ({"tecnician": "rhea"}, "tecnician", "technician"),
        ({"Outcome": "running"}, "Outcome", "outcome"),
        ({"outcome": "runing"}, "outcome", "running"),
        ({"tasks": [{"task": "condensor_clean", "result": "done"}]}, "tasks.0.task", "condenser_clean"),
        ({"observations": [{"code": "glycol_leek"}]}, "observations.0.code", "glycol_leak"),
        ({"readings": [{"quantity": "bath_temp", "value": "28 F", "when": "as_found"}]}, "readings.0.quantity",
         "bath_temperature"),
    ],
)  # fmt: skip
def test_what_was_probably_meant_is_named(stocked, changes, field, meant):
    found = errors(stocked.ask("POST", "/v1/visits", {"id": ID, **VISIT, **changes}))

    assert found[field].endswith(f'Did you mean "{meant}"?')


def test_nothing_is_guessed_where_nothing_is_close(stocked):
    found = errors(stocked.ask("POST", "/v1/visits", {"id": ID, **VISIT, "colour": "red", "outcome": "x" * 200}))

    assert found["colour"] == "Unknown field."
    assert "Did you mean" not in found["outcome"]


@pytest.mark.parametrize(
    ("path", "body", "others"),
    [
        ("/v1/visits", {**VISIT, "kind": "party"}, {"kind"}),
        ("/v1/visits", {**VISIT, "arrived_at": "2026-07-01T18:00:00Z", "technician": "nobody"},
         {"arrived_at", "technician"}),
        ("/v1/calls", {"received_at": "2026-06-09T18:00:00Z", "symptom": "warm"}, {"symptom"}),
        ("/v1/calls", {"received_at": "2026-06-09T18:00:00Z", "symptom": "other", "unit": "GU-none"}, {"unit"}),
        ("/v1/attendances", {"site": "lantern-quay", "crew": ["nobody"], "arrived_at": "2026-06-09T18:00:00Z"},
         {"crew.0", "visits"}),
    ],
)  # fmt: skip
def test_a_missing_id_is_named_with_all_other_problems(stocked, path, body, others):
    before = stocked.counted()

    assert errors(stocked.ask("POST", path, body)).keys() == {"id"} | others
    assert stocked.counted() == before


def test_a_body_that_lacks_nothing_but_its_id_is_not_stored(stocked):
    before = stocked.counted()

    assert errors(stocked.ask("POST", "/v1/visits", VISIT)).keys() == {"id"}
    assert stocked.counted() == before


def test_a_visit_before_the_installation_is_refused_with_both_days(shop):
    shop.unit(installed_on="2026-06-09")
    refused = errors(shop.ask("POST", "/v1/visits", {"id": ID, **VISIT, "arrived_at": "2026-06-09T05:59:59Z"}))
    first = shop.post("/v1/visits", {"id": ID, **VISIT, "arrived_at": "2026-06-09T06:00:00Z"})  # midnight in Denver
    moved = shop.ask("PATCH", f"/v1/visits/{ID}", {"arrived_at": "2026-06-08T18:00:00Z", "why": "x"}, If_Match='"1"')

    assert refused == {"unit": "was installed on 2026-06-09, after the visit on 2026-06-08"}
    assert first["visit"]["version"] == 1
    assert errors(moved) == refused


def test_a_visit_after_the_retirement_is_refused_with_both_days(shop):
    shop.unit()
    shop.patch("/v1/units/GU-0007", {"retired_on": "2026-06-08"}, 1)
    refused = errors(shop.ask("POST", "/v1/visits", {"id": ID, **VISIT}))

    assert refused == {"unit": "was retired on 2026-06-08, before the visit on 2026-06-09"}


def test_units_are_taken_as_written_and_kept_so(shop):
    shop.unit()
    readings = [
        {"quantity": "bath_temperature", "value": "28 °F", "when": "as_found"},
        {"quantity": "supply_voltage", "value": {"value": 115, "unit": "volts"}, "when": "as_left"},
    ]
    made = shop.post("/v1/visits", {"id": ID, **VISIT, "readings": readings})["visit"]

    assert [reading["value"]["entered"] for reading in made["readings"]] == ["28 °F", "115 volts"]
    assert made["readings"][0]["value"]["value"] == pytest.approx(-2.22222)
