"""The OpenAPI document: valid by the specification's own schema, complete, and the same wherever it is made."""

import json
import subprocess
import sys
from typing import Any

import pytest
from flask import Flask
from marshmallow import Schema, fields, validate
from openapi_spec_validator import OpenAPIV31SpecValidator

from service.api import openapi
from service.api.auth import OFFICE, STAFF
from service.api.endpoint import Answer, Routes
from service.app import RESOURCES
from service.schemas.fields import Choice, Day
from service.schemas.times import DAY_PATTERN


class ToySchema(Schema):
    """A toy."""

    name = fields.String(required=True)
    litres = fields.Float(allow_none=True, validate=validate.Range(0, min_inclusive=False))
    made_on = Day(allow_none=True, metadata={"description": "when"})
    colour = Choice(("red", "blue"), allow_none=True)
    id = fields.Integer(dump_only=True)


def toys() -> Routes:
    routes = Routes("toys")
    answer = Answer(ToySchema, headers=("ETag",), media={"text/csv": {"type": "string"}}, example={"name": "bear"})

    @routes.get("/v1/toys/{name}/{number:int}", allow=STAFF, answers={200: answer})
    def get_toy(name: str, number: int) -> None:
        """Show one toy.

        And more
        of it.
        """

    @routes.patch("/v1/toys/{name}", allow=OFFICE, body=ToySchema, partial=True, answers={200: answer})
    def change_toy(name: str, body: Any) -> None:
        """Change a toy."""

    @routes.post(
        "/v1/toys",
        allow=OFFICE,
        body=ToySchema,
        body_media={"application/x-ndjson": {"type": "string"}},
        body_example={"name": "bear"},
        headers={"Idempotency-Key": "makes a repeat harmless"},
        answers={201: ToySchema},
    )
    def add_toy(body: Any) -> None:
        """Add a toy."""

    return routes


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    """The document of the toys."""
    return openapi.document([toys()])


def test_the_served_document_is_valid_openapi_3_1(file_app: Flask) -> None:
    document = file_app.test_client().get("/openapi.json").get_json()

    assert list(OpenAPIV31SpecValidator(document).iter_errors()) == []
    assert document["openapi"] == "3.1.0"


def test_the_document_of_toys_is_valid_too(document: dict[str, Any]) -> None:
    assert list(OpenAPIV31SpecValidator(document).iter_errors()) == []


def test_every_route_is_in_the_document(file_app: Flask) -> None:
    document = file_app.test_client().get("/openapi.json").get_json()

    documented = {(path, method.upper()) for path, item in document["paths"].items() for method in item}
    declared = {(operation.template, operation.method) for routes in RESOURCES for operation in routes.operations}
    assert documented == declared | {("/openapi.json", "GET"), ("/docs/api", "GET")}


PRINT_DOCUMENT = """
import json
from service.api import openapi
from service.app import RESOURCES
print(json.dumps(openapi.document(RESOURCES)))
"""


def test_the_document_is_the_same_under_any_hash_seed() -> None:
    made = [sys.executable, "-c", PRINT_DOCUMENT]
    texts = {
        subprocess.run(made, env={"PYTHONHASHSEED": seed}, capture_output=True, text=True, check=True).stdout
        for seed in ("1", "2")
    }

    assert len(texts) == 1
    assert json.loads(texts.pop())["openapi"] == "3.1.0"


@pytest.mark.parametrize(
    ("path", "method", "statuses"),
    [
        ("/v1/toys/{name}/{number}", "get", "200 304 400 401 403 404 406 422 429 503"),
        ("/v1/toys/{name}", "patch", "200 400 401 403 404 406 409 412 413 415 422 428 429 503"),
        ("/v1/toys", "post", "201 400 401 403 409 413 415 422 429 503"),
    ],
)
def test_each_operation_reports_its_answers(document: dict[str, Any], path: str, method: str, statuses: str) -> None:
    assert sorted(document["paths"][path][method]["responses"]) == statuses.split()


def test_a_refusal_is_documented_as_a_problem(document: dict[str, Any]) -> None:
    (media,) = document["components"]["responses"]["Stale"]["content"].items()

    assert media == ("application/problem+json", {"schema": {"$ref": "#/components/schemas/Problem"}})


def test_parameters_are_those_of_path_and_headers(document: dict[str, Any]) -> None:
    shown = {
        (path, parameter["in"], parameter["name"], parameter["required"])
        for path, item in document["paths"].items()
        for operation in item.values()
        for parameter in operation["parameters"]
    }

    assert shown == {
        ("/v1/toys", "header", "Idempotency-Key", False),
        ("/v1/toys/{name}", "path", "name", True),
        ("/v1/toys/{name}", "header", "If-Match", True),
        ("/v1/toys/{name}/{number}", "path", "name", True),
        ("/v1/toys/{name}/{number}", "path", "number", True),
        ("/v1/toys/{name}/{number}", "header", "If-None-Match", False),
    }


def test_a_patch_requires_no_field_and_a_post_does(document: dict[str, Any]) -> None:
    schemas = document["components"]["schemas"]

    assert "required" not in schemas["ToyPatch"]
    assert schemas["Toy"]["required"] == ["name"]
    assert schemas["Toy"]["additionalProperties"] is False


def test_a_field_of_ours_brings_its_own_schema(document: dict[str, Any]) -> None:
    assert document["components"]["schemas"]["Toy"]["properties"]["made_on"] == {
        "type": ["string", "null"],
        "format": "date",
        "pattern": f"^{DAY_PATTERN}$",
        "examples": ["2026-06-09"],
        "description": "when",
    }


def test_limits_that_do_not_count_in_and_null_among_words_are_reported(document: dict[str, Any]) -> None:
    properties = document["components"]["schemas"]["Toy"]["properties"]

    assert properties["litres"]["exclusiveMinimum"] == 0
    assert properties["colour"]["anyOf"] == [{"type": "string", "enum": ["red", "blue"]}, {"type": "null"}]


def test_summary_and_description_come_from_the_view(document: dict[str, Any]) -> None:
    shown = document["paths"]["/v1/toys/{name}/{number}"]["get"]

    assert (shown["summary"], shown["description"], shown["operationId"]) == (
        "Show one toy.",
        "And more of it.",
        "get_toy",
    )


def test_further_forms_and_examples_are_reported(document: dict[str, Any]) -> None:
    body = document["paths"]["/v1/toys"]["post"]["requestBody"]["content"]
    content = document["paths"]["/v1/toys/{name}"]["patch"]["responses"]["200"]["content"]

    assert set(body) == {"application/json", "application/x-ndjson"}
    assert body["application/json"]["example"] == content["application/json"]["example"] == {"name": "bear"}
    assert content["text/csv"] == {"schema": {"type": "string"}}


def test_who_may_call_is_reported(document: dict[str, Any]) -> None:
    shown = document["paths"]["/v1/toys"]["post"]

    assert shown["security"] == [{"bearer": []}, {"basic": []}]
    assert shown["x-roles"] == ["dispatcher", "owner"]
