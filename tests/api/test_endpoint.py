"""What a declared route takes and refuses before its view runs."""

from typing import Any

import pytest
from flask import Flask, Response
from flask.testing import FlaskClient
from marshmallow import Schema, fields, validate

from service.api import endpoint, preconditions
from service.api.auth import OPEN
from service.schemas.fields import line


class ToyQuery(Schema):
    """Which toys."""

    colour = line()
    size = fields.List(fields.Integer(), validate=validate.Length(max=9))


class ToySchema(Schema):
    """A toy."""

    name = line(required=True)
    wheels = fields.Integer()


@pytest.fixture
def client(file_app: Flask) -> FlaskClient:
    """An application with toys; every toy is at version 3."""
    routes = endpoint.Routes("toys")

    @routes.get("/v1/toys", allow=OPEN, query=ToyQuery, answers={200: None})
    def find(query: dict[str, Any]) -> dict[str, Any]:
        return query

    @routes.post("/v1/toys", allow=OPEN, body=ToySchema, answers={201: ToySchema})
    def make(body: dict[str, Any]) -> tuple[dict[str, Any], int, dict[str, str]]:
        return body, 201, {"Location": f"/v1/toys/{body['name']}"}

    @routes.get("/v1/toys/{name}", allow=OPEN, answers={200: endpoint.Answer(ToySchema, headers=("ETag",))})
    def toy(name: str) -> Response:
        return preconditions.tagged({"name": name}, 3)

    @routes.patch("/v1/toys/{name}", allow=OPEN, body=ToySchema, partial=True, answers={200: ToySchema})
    def change(name: str, body: dict[str, Any]) -> Response:
        preconditions.unchanged(3, "toy", name)
        return preconditions.tagged({"name": name, **body}, 4)

    @routes.get("/v1/boxes/{number:int}", allow=OPEN, answers={200: None})
    def box(number: int) -> dict[str, int]:
        return {"number": number}

    endpoint.register(file_app, [routes])
    return file_app.test_client()


def test_a_view_gets_its_parameters(client: FlaskClient) -> None:
    assert client.get("/v1/toys?colour=red&size=1&size=2").get_json() == {"colour": "red", "size": [1, 2]}


@pytest.mark.parametrize(
    ("asked", "field"), [("shape=round", "shape"), ("colour=a&colour=b", "colour"), ("colour=%00", "colour")]
)
def test_a_parameter_unknown_repeated_or_not_text_is_refused(client: FlaskClient, asked: str, field: str) -> None:
    answer = client.get(f"/v1/toys?{asked}")

    assert (answer.status_code, answer.get_json()["errors"][0]["field"]) == (422, field)


def test_a_path_without_parameters_refuses_any(client: FlaskClient) -> None:
    assert client.get("/v1/toys/bear?colour=red").get_json()["errors"][0]["field"] == "colour"


def test_payload_status_and_headers_are_answered(client: FlaskClient) -> None:
    answer = client.post("/v1/toys", json={"name": "bear"})

    assert (answer.status_code, answer.headers["Location"], answer.get_json()) == (
        201,
        "/v1/toys/bear",
        {"name": "bear"},
    )


def test_a_patch_may_leave_out_what_a_post_needs(client: FlaskClient) -> None:
    assert client.patch("/v1/toys/bear", json={"wheels": 4}, headers={"If-Match": '"3"'}).status_code == 200
    assert client.post("/v1/toys", json={"wheels": 4}).status_code == 422


@pytest.mark.parametrize("path", ["/v1/toys/a%00b", "/v1/boxes/x", "/v1/boxes/-1", "/v1/boxes/9223372036854775808"])
def test_a_key_that_cannot_exist_is_not_found(client: FlaskClient, path: str) -> None:
    assert client.get(path).status_code == 404


def test_a_whole_number_in_the_path_arrives_as_one(client: FlaskClient) -> None:
    assert client.get("/v1/boxes/9223372036854775807").get_json() == {"number": 2**63 - 1}


# RFC 6585 section 3 (428) and RFC 9110 section 13.1.1: If-Match compares strongly, by the table of section 8.8.3.2.
@pytest.mark.parametrize(
    ("if_match", "status"),
    [
        (None, 428), ('"3"', 200), ("*", 200), ('"2", "3"', 200), ('"2"', 412), ('W/"3"', 412), ('"three"', 412),
        ('"99999999999999999999"', 412), ("3", 400), ("", 400), ('"3', 400), ('"2" "3"', 400),
    ],
)  # fmt: skip
def test_a_change_needs_the_etag_last_read(client: FlaskClient, if_match: str | None, status: int) -> None:
    headers = {} if if_match is None else {"If-Match": if_match}
    answer = client.patch("/v1/toys/bear", json={"wheels": 4}, headers=headers)

    assert answer.status_code == status


# RFC 9110 section 13.1.2: If-None-Match compares weakly
@pytest.mark.parametrize(
    ("if_none_match", "status"), [('"3"', 304), ('W/"3"', 304), ('"1", "3"', 304), ("*", 304), ('"2"', 200), ("3", 200)]
)
def test_what_the_caller_has_is_not_sent_again(client: FlaskClient, if_none_match: str, status: int) -> None:
    answer = client.get("/v1/toys/bear", headers={"If-None-Match": if_none_match})

    assert (answer.status_code, answer.headers["ETag"]) == (status, '"3"')
    assert bool(answer.data) == (status == 200)


def test_a_tagged_answer_is_not_kept_by_a_cache(client: FlaskClient) -> None:
    assert client.get("/v1/toys/bear").headers["Cache-Control"] == "no-store"
