"""Refusals as problem documents, in the form of RFC 9457."""

import json
import logging
from collections.abc import Callable

import pytest
from flask import Flask
from flask.testing import FlaskClient
from marshmallow import Schema, fields, validate
from werkzeug.test import TestResponse

from service.api import endpoint
from service.api.auth import OPEN
from service.domain import errors
from service.domain.errors import Fault

Refuse = Callable[[Exception], TestResponse]


class PartSchema(Schema):
    """A part of a toy."""

    litres = fields.Float(required=True, validate=validate.Range(0, min_inclusive=False))


class ToySchema(Schema):
    """A toy."""

    name = fields.String(required=True)
    parts = fields.List(fields.Nested(PartSchema), validate=validate.Length(max=9))


@pytest.fixture
def refuse(file_app: Flask) -> Refuse:
    """Answers a request with an exception."""
    routes, raised = endpoint.Routes("toys"), []

    @routes.get("/v1/toys/{name}", allow=OPEN, answers={200: None})
    def toy(name: str) -> None:
        raise raised[-1]

    endpoint.register(file_app, [routes])
    client = file_app.test_client()

    def answer(refusal: Exception) -> TestResponse:
        raised.append(refusal)
        return client.get("/v1/toys/bear")

    return answer


@pytest.fixture
def maker(file_app: Flask) -> FlaskClient:
    """An application that takes toys."""
    routes = endpoint.Routes("toys")

    @routes.post("/v1/toys", allow=OPEN, body=ToySchema, answers={201: ToySchema})
    def make(body: object) -> tuple[object, int]:
        return body, 201

    endpoint.register(file_app, [routes])
    return file_app.test_client()


@pytest.mark.parametrize(
    ("refusal", "status", "kind"),
    [
        (errors.Invalid([Fault("a", 1, "b")]), 422, "invalid"),
        (errors.NotFound("unit", "GU-1"), 404, "not-found"),
        (errors.Conflict("taken"), 409, "conflict"),
        (errors.KeyReused("used"), 422, "key-reused"),
        (errors.Stale("unit", "GU-1"), 412, "stale"),
        (errors.Unavailable("locked"), 503, "unavailable"),
    ],
)
def test_each_refusal_of_the_domain_has_its_status(refuse: Refuse, refusal: Exception, status: int, kind: str) -> None:
    answer = refuse(refusal)

    assert (answer.status_code, answer.mimetype) == (status, "application/problem+json")
    assert answer.get_json()["type"] == f"/problems/{kind}"


def test_a_problem_has_the_members_of_rfc_9457_section_3_1(refuse: Refuse) -> None:
    answer = refuse(errors.NotFound("unit", "GU-1"))

    assert answer.get_json() == {
        "type": "/problems/not-found",
        "title": "Not found",
        "status": 404,
        "detail": "There is no unit 'GU-1'.",
        "instance": answer.headers["X-Request-ID"],
    }


def test_unavailable_says_when_to_try_again(refuse: Refuse) -> None:
    assert refuse(errors.Unavailable("locked")).headers["Retry-After"] == "1"


def test_every_fault_is_reported_with_field_value_and_message(refuse: Refuse) -> None:
    answer = refuse(errors.Invalid([Fault("bath.volume", -3, "above 0 L"), Fault("tag", None, "needed")]))

    assert answer.get_json()["errors"] == [
        {"field": "bath.volume", "value": -3, "message": "above 0 L"},
        {"field": "tag", "value": None, "message": "needed"},
    ]


@pytest.mark.parametrize("huge", ["x" * 100_000, ["x"] * 100_000, {"x": "y" * 100_000}])
def test_a_huge_value_is_shortened(refuse: Refuse, huge: object) -> None:
    answer = refuse(errors.Invalid([Fault("words", huge, "too long")]))

    assert len(answer.get_json()["errors"][0]["value"]) == 201
    assert len(answer.data) < 1000


@pytest.mark.parametrize("odd", ["\ud800", {"\ud800": 1}, {1, 2}, float("nan"), object])
def test_a_value_that_is_no_json_is_still_answered(refuse: Refuse, odd: object) -> None:
    assert refuse(errors.Invalid([Fault("\ud800", odd, "\ud800")])).status_code == 422


def test_a_schema_refusal_names_the_path_and_the_value(maker: FlaskClient) -> None:
    answer = maker.post("/v1/toys", json={"parts": [{"litres": 1}, {"litres": 0}, {}], "wheels": 4})

    assert {(shown["field"], shown["value"]) for shown in answer.get_json()["errors"]} == {
        ("name", None),
        ("parts.1.litres", 0),
        ("parts.2.litres", None),
        ("wheels", 4),
    }


@pytest.mark.parametrize("body", [[], 3, "text", None, [{"name": "bear"}]])
def test_a_body_that_is_no_object_is_a_fault_of_the_body(maker: FlaskClient, body: object) -> None:
    answer = maker.post("/v1/toys", data=json.dumps(body), content_type="application/json")

    assert (answer.status_code, answer.get_json()["errors"][0]["field"]) == (422, "body")


def test_an_unexpected_fault_reports_nothing_of_the_inside(refuse: Refuse) -> None:
    answer = refuse(RuntimeError("password is rosebud"))

    assert answer.status_code == 500
    assert b"rosebud" not in answer.data
    assert answer.get_json()["instance"] == answer.headers["X-Request-ID"]


def test_an_unexpected_fault_is_logged_with_its_traceback(refuse: Refuse, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.ERROR, "glycol_fleet.errors"):
        refuse(RuntimeError("the pump"))

    assert "the pump" in str(caplog.records[0].exc_info)


@pytest.mark.parametrize("path", ["/no", "/v1", "/v1/nothing", "/v1/tokens/", "/v1//tokens", "/%00", "/v1/toys/a/b"])
def test_an_unknown_path_is_a_404_problem(file_app: Flask, path: str) -> None:
    answer = file_app.test_client().get(path)

    assert (answer.status_code, answer.mimetype) == (404, "application/problem+json")


@pytest.mark.parametrize("method", ["PUT", "OPTIONS", "TRACE", "BREW"])
def test_a_wrong_method_is_405_and_allow_says_which_are_right(file_app: Flask, method: str) -> None:
    answer = file_app.test_client().open("/v1/tokens", method=method)

    assert (answer.status_code, answer.mimetype) == (405, "application/problem+json")
    assert set(answer.headers["Allow"].split(", ")) == {"GET", "HEAD", "POST"}


def test_each_type_of_problem_is_explained_where_it_points(file_app: Flask) -> None:
    client: FlaskClient = file_app.test_client()
    shown = client.get(client.get("/nothing").get_json()["type"]).get_json()

    assert (shown["type"], shown["status"]) == ("/problems/not-found", 404)
