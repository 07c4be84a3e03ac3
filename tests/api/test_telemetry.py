"""Request ids, log lines, and the headers that every answer carries."""

import io
import json
from typing import Any

import pytest
from flask import Flask, Response
from flask.testing import FlaskClient

from service.api import endpoint, telemetry
from service.api.auth import OPEN


def log_lines(lines: io.StringIO) -> list[dict[str, Any]]:
    return [json.loads(line) for line in lines.getvalue().splitlines()]


@pytest.mark.parametrize("given", ["van-2.visit_9~a", "", "a b", "x" * 65, 'a"b', "a/b", "ä"])
def test_the_request_id_is_never_the_clients(file_app: Flask, given: str) -> None:
    answer = file_app.test_client().get("/healthz", headers={"X-Request-ID": given})

    assert telemetry.REQUEST_ID.fullmatch(answer.headers["X-Request-ID"])
    assert answer.headers["X-Request-ID"] != given


@pytest.mark.parametrize(
    ("given", "logged"),
    [("van-2.visit_9~a", "van-2.visit_9~a"), ("", None), ("a b", None), ("x" * 65, None), ('a"b', None), ("ä", None)],
)
def test_the_clients_id_is_logged_beside_ours(
    file_app: Flask, lines: io.StringIO, given: str, logged: str | None
) -> None:
    file_app.test_client().get("/healthz", headers={"X-Request-ID": given})

    assert log_lines(lines)[0]["client_request_id"] == logged


def test_two_requests_have_two_ids(file_app: Flask) -> None:
    client = file_app.test_client()

    assert client.get("/healthz").headers["X-Request-ID"] != client.get("/healthz").headers["X-Request-ID"]


def test_a_request_is_one_line(client: FlaskClient, as_owner: dict[str, str], lines: io.StringIO) -> None:
    answer = client.delete("/v1/tokens/none", headers=as_owner)

    (line,) = log_lines(lines)
    assert line.pop("milliseconds") > 0
    assert line.pop("at").endswith("+00:00")
    assert line == {
        "level": "INFO",
        "logger": "glycol_fleet.access",
        "message": "request",
        "request_id": answer.headers["X-Request-ID"],
        "method": "DELETE",
        "route": "/v1/tokens/{token_id}",
        "status": 404,
        "address": "127.0.0.1",
        "caller": "owner one",
        "token": as_owner["Authorization"].split("_")[1],
        "reason": "not-found",
        "client_request_id": None,
    }


def test_nothing_typed_begins_a_line(client: FlaskClient, as_owner: dict[str, str], lines: io.StringIO) -> None:
    name = 'x"}\n{"level": "ERROR"}\r\u2028\x85\x9b\u202e\x1b[2J'
    token = client.post("/v1/tokens", json={"name": name, "role": "owner"}, headers=as_owner).get_json()["token"]
    client.get("/v1/\n%0Aforged\u2028", headers={"Authorization": f"Bearer {token}", "X-Request-ID": "a\tb"})
    client.get("/v1/tokens", headers={"Authorization": f"Bearer {token}"})

    assert [line["status"] for line in log_lines(lines)] == [201, 404, 200]
    assert log_lines(lines)[2]["caller"] == name
    assert lines.getvalue().replace("\n", "").isprintable()


def test_no_line_reports_a_token(client: FlaskClient, as_owner: dict[str, str], lines: io.StringIO) -> None:
    token = as_owner["Authorization"].removeprefix("Bearer ")
    client.get(f"/v1/{token}?t={token}", headers=as_owner)
    client.post("/v1/tokens", json={"name": token, "rôle": token}, headers=as_owner)

    assert token not in lines.getvalue()
    assert len(log_lines(lines)) == 2


def test_a_fault_of_ours_is_logged_under_its_request(file_app: Flask, lines: io.StringIO) -> None:
    routes = endpoint.Routes("toys")

    @routes.get("/v1/boom", allow=OPEN, answers={200: None})
    def boom() -> None:
        raise RuntimeError("the pump seized")

    endpoint.register(file_app, [routes])
    answer = file_app.test_client().get("/v1/boom")

    fault, request = log_lines(lines)
    assert "the pump seized" in fault["traceback"]
    assert fault["request_id"] == request["request_id"] == answer.get_json()["instance"]


@pytest.mark.parametrize("path", ["/healthz", "/v1/tokens", "/nothing", "/docs"])
def test_every_answer_forbids_guessing_and_telling_where_from(file_app: Flask, path: str) -> None:
    headers = file_app.test_client().get(path).headers

    assert (headers["X-Content-Type-Options"], headers["Referrer-Policy"]) == ("nosniff", "no-referrer")


@pytest.mark.parametrize("path", ["/healthz", "/v1/tokens", "/nothing", "/docs"])
def test_no_answer_is_framed_or_runs_anything(file_app: Flask, path: str) -> None:
    """The directives that OWASP ASVS 5.0.0, 3.4.3 and 3.4.6, demands of every answer."""
    policy = file_app.test_client().get(path).headers["Content-Security-Policy"].split("; ")

    assert {"default-src 'none'", "object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'"} <= set(policy)


def test_https_is_remembered_and_plain_http_says_nothing_of_it(file_app: Flask) -> None:
    """RFC 6797: 6.1 and 7.1; a year for all subdomains is OWASP ASVS 5.0.0, 3.4.1. 7.2: not over plain HTTP."""
    client = file_app.test_client()
    kept = client.get("/healthz", base_url="https://localhost").headers["Strict-Transport-Security"]

    assert kept == "max-age=31536000; includeSubDomains"
    assert "Strict-Transport-Security" not in client.get("/healthz").headers


@pytest.mark.parametrize("path", ["/healthz", "/v1/tokens", "/nothing", "/docs"])
def test_no_page_of_another_origin_reads_an_answer(file_app: Flask, path: str) -> None:
    """Fetch, 3.3.3: without Access-Control-Allow-Origin a browser keeps the answer from the page that asked."""
    answer = file_app.test_client().get(path, headers={"Origin": "https://other.example"})

    assert "Access-Control-Allow-Origin" not in answer.headers
    assert "Set-Cookie" not in answer.headers


def test_what_is_under_v1_is_not_kept_unless_the_view_says_so(file_app: Flask) -> None:
    assert file_app.test_client().get("/v1/tokens").headers["Cache-Control"] == "no-store"


def test_a_page_may_load_nothing_from_elsewhere(file_app: Flask) -> None:
    routes = endpoint.Routes("toys")

    @routes.get("/v1/page", allow=OPEN, answers={200: None})
    def page() -> Response:
        return Response("<p>", content_type="text/html; charset=utf-8")

    endpoint.register(file_app, [routes])
    policy = file_app.test_client().get("/v1/page").headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "script-src" not in policy
