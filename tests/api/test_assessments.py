"""Assessments over HTTP: of a visit that is stored, and of one that is only asked about."""

import copy
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from service.app import create_app
from service.schemas.assessments import AssessmentSchema
from service.settings import Settings
from service.storage.tables import metadata
from service.usecases import tokens
from service.usecases.diagnosis import causes

from .conftest import MAKER, database_at

EXAMPLES = {path.stem: json.loads(path.read_text()) for path in (Path(__file__).parents[1] / "examples").glob("*.json")}
NAMED = [
    {"code": "fan-1", "kind": "condenser_fan", "rated_current": "1.2 A"},
    {"code": "contactor-1", "kind": "contactor"},
    {"code": "thermostat-1", "kind": "temperature_controller"},
]


class Fleet:
    """One unit of one customer, and callers of each role who speak JSON."""

    def __init__(self, database: Any, settings: Settings) -> None:
        self.database = database
        # The example's visit ends at 20:40Z; the clock stands a little later.
        app = create_app(database, settings, clock=lambda: MAKER.at.replace(hour=21))
        self.client, self.tokens = app.test_client(), {}
        for role in ("owner", "technician", "dispatcher"):
            with database.writing() as store:
                self.tokens[role] = tokens.create(store, name=role, role=role, units_shown="us", actor=MAKER)[1]
        unit = EXAMPLES["unit"] | {"components": EXAMPLES["unit"]["components"] + NAMED}
        for path, body in (
            ("customers", "customer"),
            ("technicians", "technician"),
            ("sites", "site"),
            ("units", unit),
        ):
            assert self.ask(f"/v1/{path}", EXAMPLES[body] if isinstance(body, str) else body).status_code == 201

    def ask(self, path: str, body: Any, *, role: str = "owner", method: str = "POST", **headers: str) -> Any:
        """One request; keyword headers are written with underscores."""
        sent = {name.replace("_", "-"): value for name, value in headers.items()}
        sent["Authorization"] = f"Bearer {self.tokens[role]}"
        return self.client.open(path, method=method, json=body, headers=sent)

    def assess(self, visit: dict[str, Any], query: str = "", **more: Any) -> Any:
        """What a visit's numbers would say."""
        answer = self.ask(f"/v1/assessments{query}", visit, **more)
        assert answer.status_code == 200, answer.text
        return answer.get_json()

    def counted(self) -> dict[str, int]:
        """How many rows each table holds."""
        with self.database.reading() as store:
            return {name: store.link.core(text(f'SELECT count(*) FROM "{name}"'))[0][0] for name in metadata.tables}


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Fleet]:
    """The application with the example's unit, for tests that store nothing."""
    folder = tmp_path_factory.mktemp("assessments")
    settings = Settings(database_url=f"sqlite:///{folder}/fleet.db", home=folder, max_body=100_000)
    with database_at(settings) as database:
        yield Fleet(database, settings)


@pytest.fixture
def fleet(tmp_path: Path) -> Iterator[Fleet]:
    """The application with the example's unit, its own for the test."""
    settings = Settings(database_url=f"sqlite:///{tmp_path}/fleet.db", home=tmp_path, max_body=100_000)
    with database_at(settings) as database:
        yield Fleet(database, settings)


@pytest.fixture
def visit() -> dict[str, Any]:
    """The example's visit."""
    return copy.deepcopy(EXAMPLES["visit"])


def findings_of(assessment: dict[str, Any]) -> dict[str, Any]:
    return {finding["code"]: finding for finding in assessment["findings"]}


def test_the_answer_to_a_posted_visit_holds_its_assessment(fleet, visit):
    posted = fleet.ask("/v1/visits", visit, role="technician").get_json()["assessment"]

    # 1.3 A on a nameplate of 1.2 A; 24.5 Brix are about 34 mass %.
    assert findings_of(posted)["current_over_rating"]["figures"]["share"] == {
        "value": pytest.approx(108.3, abs=0.05),  # no more digits than a 3 % clamp meter allows
        "unit": "%",
        "uncertainty": pytest.approx(108.333 * 0.03 / 3**0.5, rel=0.03),
    }
    assert findings_of(posted)["glycol_strength_good"]["figures"]["strength"]["value"] == pytest.approx(34, abs=1)
    assert findings_of(posted)["left_recovering"]["severity"] == "note"


def test_asking_about_a_visit_gives_the_assessment_of_posting_it(fleet, visit):
    asked = fleet.assess(visit)

    assert asked == fleet.ask("/v1/visits", visit).get_json()["assessment"]


def test_asking_stores_nothing_even_where_the_visit_names_new_components(shared, visit):
    before = shared.counted()
    visit["readings"].append(
        {"quantity": "current", "component": "pump-9", "kind": "pump", "value": "4 A", "when": "as_left"}
    )
    shared.assess(visit)

    assert shared.counted() == before


def test_no_id_is_needed_to_ask(shared, visit):
    del visit["id"]

    assert shared.assess(visit)["findings"]


@pytest.mark.parametrize("role", ["technician", "dispatcher", "owner"])
def test_every_role_may_ask(shared, visit, role):
    assert shared.assess(visit, role=role)["findings"]


def test_a_visit_that_is_asked_about_is_checked_as_a_posted_one(shared, visit):
    visit["readings"][0]["value"] = "400 K"
    visit["readings"][2]["component"] = "pump-9"
    asked, posted = (shared.ask(path, visit) for path in ("/v1/assessments", "/v1/visits"))

    assert (asked.status_code, posted.status_code) == (422, 422)
    assert asked.get_json()["errors"] == posted.get_json()["errors"]
    assert {fault["field"] for fault in asked.get_json()["errors"]} >= {"readings.0.value", "readings.2.component"}


@pytest.mark.parametrize("change", [{"unit": "GU-9999"}, {"technician": "nobody"}, {"kind": "party"}])
def test_what_cannot_be_is_refused(shared, visit, change):
    assert shared.ask("/v1/assessments", visit | change).status_code == 422


def test_the_units_asked_for_are_spoken(shared, visit):
    shown = {units: findings_of(shared.assess(visit, f"?units={units}"))["bath_warm"] for units in ("us", "si")}

    assert "38 °F" in shown["us"]["sentence"]
    assert "3.3 °C" in shown["si"]["sentence"]
    assert shown["si"]["figures"]["bath_temperature"] == {
        "value": 3.33333,
        "unit": "degC",
        "entered": "38 degF",
        "uncertainty": 0.64,  # 1.1 K divided by the square root of three
    }


def test_a_correction_is_assessed_anew(fleet, visit):
    fleet.ask("/v1/visits", visit)
    readings = [{"quantity": "glycol_strength", "value": "18 mass%", "when": "as_left"}]
    answer = fleet.ask(
        f"/v1/visits/{visit['id']}", {"why": "misread", "readings": readings}, method="PATCH", If_Match='"1"'
    )

    assert "glycol_weak" in findings_of(answer.get_json()["assessment"])


def test_a_voided_visit_concludes_nothing(fleet, visit):
    fleet.ask("/v1/visits", visit)
    answer = fleet.ask(f"/v1/visits/{visit['id']}/void", {"reason": "wrong unit"}, If_Match='"1"')

    assert [shown["code"] for shown in answer.get_json()["assessment"]["findings"]] == ["visit_voided"]


def test_the_same_visit_again_gives_the_first_assessment(fleet, visit):
    first, again = (fleet.ask("/v1/visits", visit).get_json() for _ in range(2))

    assert first == again
    assert first["assessment"]["findings"]


def test_the_document_is_the_one_that_is_described(shared, visit):
    assessment = shared.assess(visit)
    described = AssessmentSchema()

    assert set(assessment) == set(described.fields)
    for name in ("findings", "would_help"):
        for part in assessment[name]:
            assert set(part) == set(described.fields[name].inner.schema.fields)


@pytest.fixture
def standing() -> dict[str, Any]:
    """A visit to a warm bath with the compressor at rest under voltage: common practice, no source."""
    named = {
        "bath_temperature": "70 degF",
        "beer_temperature_at_tap": "68 degF",
        "cooler_temperature": "35 degF",
        "supply_voltage": "117 V",
    }
    readings = [
        {"quantity": quantity, "value": value, "when": "as_found"}
        | ({"tap": "1"} if quantity == "beer_temperature_at_tap" else {})
        for quantity, value in named.items()
    ]
    readings += [
        {"quantity": "current", "component": code, "kind": kind, "value": "0 A", "when": "as_found"}
        for code, kind in (("fan-1", "condenser_fan"), ("compressor-1", "compressor"))
    ]
    return {
        "unit": "GU-0007", "kind": "service_call", "arrived_at": "2026-06-09T18:00:00Z", "readings": readings,
        "complaint": {"symptom": "warm_pour"},
    }  # fmt: skip


def test_before_leaving_the_likeliest_cause_of_a_complaint_is_stated(fleet: Fleet, standing: dict[str, Any]) -> None:
    codes = {finding["code"]: finding for finding in fleet.assess(standing)["findings"]}

    assert codes["likely_cause"]["severity"] == "note"
    assert "% probable" in codes["likely_cause"]["sentence"]
    assert "likely_cause" not in {each["code"] for each in fleet.assess(standing | {"complaint": None})["findings"]}


def test_a_posted_and_a_corrected_visit_state_the_cause_that_was_stated_before_leaving(
    fleet: Fleet, standing: dict[str, Any]
) -> None:
    before = fleet.assess(standing)
    posted = fleet.ask("/v1/visits", standing, Idempotency_Key="once")
    again = fleet.ask("/v1/visits", standing, Idempotency_Key="once")
    body = posted.get_json()

    assert "likely_cause" in {each["code"] for each in before["findings"]}
    assert body["assessment"]["findings"] == before["findings"]
    assert again.data == posted.data

    where, seen = posted.headers["Location"], {"If_Match": posted.headers["ETag"]}
    corrected = fleet.ask(where, {"why": "seen", "work": "x"}, method="PATCH", **seen).get_json()
    assert "likely_cause" in {each["code"] for each in corrected["assessment"]["findings"]}


def test_the_cause_is_calculated_while_others_can_write(
    fleet: Fleet, standing: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    def writing_meanwhile(question: Any) -> None:
        meanwhile = {"unit": "GU-0007", "kind": "maintenance", "arrived_at": "2026-06-09T17:00:00Z"}
        assert fleet.ask("/v1/visits", meanwhile, Idempotency_Key=f"meanwhile {len(asked)}").status_code == 201
        asked.append(question)

    asked: list[Any] = []
    monkeypatch.setattr(causes, "likely_cause", writing_meanwhile)
    posted = fleet.ask("/v1/visits", standing, Idempotency_Key="once")
    assert posted.status_code == 201, posted.text
    where, seen = posted.headers["Location"], {"If_Match": posted.headers["ETag"]}

    assert fleet.ask(where, {"why": "seen", "work": "x"}, method="PATCH", **seen).status_code == 200
    assert len(asked) == 2


def test_frost_on_the_capillary_of_a_visit_is_a_cold_drier_to_its_cause(shared, visit):
    # a circuit that gives little heat beside a warm bath: common practice, no source
    named = {"bath_temperature": "41 degF", "condenser_air_in_temperature": "82 degF", "cooler_temperature": "36 degF",
             "condenser_air_out_temperature": "86 degF", "beer_temperature_at_tap": "47 degF"}  # fmt: skip
    readings = [{"quantity": name, "value": value, "when": "as_found"} for name, value in named.items()]
    readings[-1]["tap"] = "1"
    body = visit | {"readings": readings, "tasks": [], "replacements": [], "complaint": {"symptom": "warm_pour"}}
    seen = {code: findings_of(shared.assess(body | {"observations": [{"code": code}]})) for code in
            ("frost_on_capillary", "fasteners_missing")}  # fmt: skip

    assert seen["frost_on_capillary"]["likely_cause"]["figures"]["explanations"] == "restriction"
    assert (
        seen["fasteners_missing"].get("likely_cause", {"figures": {}})["figures"].get("explanations") != "restriction"
    )
