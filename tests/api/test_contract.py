"""The whole API against its own document: a property-based run in which nothing may break or answer undocumented.

Reference: schemathesis, which makes requests, good and bad ones, from the OpenAPI document.
"""

import json
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from schemathesis.checks import CHECKS

from service.api import openapi
from service.app import RESOURCES, create_app
from service.settings import Settings
from service.usecases import tokens
from tests.fuzz_requests.run import CHECKED

from .conftest import MAKER, database_at

schemathesis.serializer.alias("application/x-ndjson", "text/plain")
METHODS = ("get", "post", "patch", "delete")
EXAMPLES = Path(__file__).parents[1] / "examples"
LABELS = [
    f"{method.upper()} {path}"
    for path, item in openapi.document(RESOURCES)["paths"].items()
    for method in item
    if method in METHODS
]
KINDS = {"fan-1": "condenser_fan", "contactor-1": "contactor", "thermostat-1": "temperature_controller"}
FAILING = [
    {"id": f"0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b0{n}", "unit": "GU-0007", "kind": "service_call",
     "arrived_at": f"2026-0{n}-15T18:00:00Z",
     "replacements": [{"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}]}
    for n in range(1, 6)
]  # fmt: skip
KNOWN = {"customers": "lantern", "technicians": "rhea", "sites": "lantern-quay", "tasks": "condenser_clean"}


@pytest.fixture(scope="module")
def served(tmp_path_factory) -> Iterator[tuple]:
    """An application with the design's example fleet in it, and an owner's headers."""
    folder = tmp_path_factory.mktemp("contract")
    chosen = Settings(database_url=f"sqlite:///{folder}/fleet.db", home=folder, max_body=100_000)
    with database_at(chosen) as database:
        with database.writing() as store:
            token = tokens.create(store, name="fuzz", role="owner", units_shown="us", actor=MAKER)[1]
        app = create_app(database, chosen, clock=lambda: MAKER.at + timedelta(days=1))
        headers = {"Authorization": f"Bearer {token}"}
        for resource in ("customer", "technician", "site", "unit", "visit"):
            body = json.loads((EXAMPLES / f"{resource}.json").read_text(encoding="utf-8"))
            body["replacements"] = [part | {"kind": KINDS[part["component"]]} for part in body.get("replacements", ())]
            body = {name: value for name, value in body.items() if value != []}
            assert app.test_client().post(f"/v1/{resource}s", json=body, headers=headers).status_code == 201
        for visit in FAILING:
            answer = app.test_client().post("/v1/visits", json=visit, headers=headers)
        assert [case["id"] for case in answer.json["root_causes"]] == [1]
        yield app, headers


@pytest.fixture(scope="module")
def operations(served):
    """The operations of the document that the application serves, by method and path."""
    schema = schemathesis.openapi.from_wsgi("/openapi.json", served[0])
    return {result.ok().label: result.ok() for result in schema.get_all_operations()}


@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE], ids=["good", "bad"])
@pytest.mark.parametrize("label", LABELS)
def test_no_request_breaks_it_or_gets_an_undocumented_answer(label, mode, operations, served):
    operation = operations[label]

    @given(case=operation.as_strategy(generation_mode=mode))
    @settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True, database=None)
    def every_request(case):
        aim_at_what_there_is(case)
        answer = case.call(headers={**(case.headers or {}), **served[1]})
        assert answer.status_code not in (401, 429)  # the generator makes an Authorization header too; ours is sent
        case.validate_response(answer, checks=CHECKS.get_by_names(CHECKED))

    try:
        every_request()
    except Unsatisfiable:
        assert mode is GenerationMode.NEGATIVE  # nothing can be wrong with a request that takes nothing


def aim_at_what_there_is(case):
    """Two requests of three go to records that are there; the rest to whatever the generator made up."""
    path, resource = case.path_parameters or {}, case.path.split("/")[2] if case.path.startswith("/v1/") else ""
    if len(json.dumps(case.path_parameters, default=str)) % 3:
        if "tag" in path:
            path["tag"] = "GU-0007"
        if "code" in path:
            path["code"] = KNOWN.get("tasks" if case.path.endswith("/tasks/{code}") else resource, path["code"])
        if "id" in path and resource == "root-causes":
            path["id"] = 1
        elif "id" in path:
            path["id"] = json.loads((EXAMPLES / "visit.json").read_text(encoding="utf-8"))["id"]
