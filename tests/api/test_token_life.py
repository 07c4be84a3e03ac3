"""Tokens over HTTP: whose they are, when they end, what a refusal leaves behind, and how often one may guess."""

import io
import json
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient

from service.app import create_app
from service.settings import Settings
from service.usecases import tokens
from service.usecases.record import fleet, units
from service.usecases.system import FleetDatabase

from .conftest import MAKER

VISIT = {"id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77", "unit": "GU-1", "kind": "maintenance",
         "arrived_at": "2026-06-09T18:00:00Z"}  # fmt: skip


class Clock:
    """A clock that can be set."""

    def __init__(self) -> None:
        self.now = MAKER.at

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Clock:
    """Stands at 2026-06-09T19:05Z at first."""
    return Clock()


@pytest.fixture
def app(database: FleetDatabase, settings: Settings, clock: Clock) -> Flask:
    """The application with two technicians and a unit."""
    with database.writing() as store:
        for code in ("rhea", "tobin"):
            fleet.add_technician(store, MAKER, {"code": code, "name": code.title()})
        fleet.add_customer(store, MAKER, {"code": "lantern", "name": "The Lantern Room"})
        site = {"code": "quay", "customer": "lantern", "name": "Quay", "time_zone": "America/Denver"}
        fleet.add_site(store, MAKER, site)
        units.add_unit(store, MAKER, {"tag": "GU-1", "site": "quay"})
    return create_app(database, settings, clock=clock)


Ask = Callable[..., Any]


@pytest.fixture
def ask(app: Flask, as_owner: dict[str, str]) -> Ask:
    """One request, as the owner unless a token is given."""

    def asked(method: str, path: str, body: Any = None, *, token: str = "", address: str = "192.0.2.1") -> Any:
        headers = {"Authorization": f"Bearer {token}"} if token else as_owner
        sent = headers | ({"If-Match": "*"} if method == "PATCH" else {})
        origin = {"REMOTE_ADDR": address}
        return app.test_client().open(path, method=method, json=body, headers=sent, environ_base=origin)

    return asked


def create(ask: Ask, **fields: Any) -> str:
    answer = ask("POST", "/v1/tokens", {"name": "Rhea's phone", "role": "technician", **fields})
    assert answer.status_code == 201, answer.text
    return str(answer.get_json()["token"])


def test_a_token_of_a_technician_ends_with_the_day_of_leaving(ask: Ask, clock: Clock) -> None:
    token = create(ask, technician="rhea")
    assert ask("GET", "/v1/units", token=token).status_code == 200
    ask("PATCH", "/v1/technicians/rhea", {"left_on": "2026-06-10"})
    assert ask("GET", "/v1/units", token=token).status_code == 200
    clock.now += timedelta(hours=5)

    assert ask("GET", "/v1/units", token=token).status_code == 401


def test_a_token_opens_until_it_expires(ask: Ask, clock: Clock) -> None:
    token = create(ask, expires_at="2026-06-09T20:05:00Z")
    assert ask("GET", "/v1/units", token=token).status_code == 200
    clock.now += timedelta(hours=1)

    assert ask("GET", "/v1/units", token=token).status_code == 401


@pytest.mark.parametrize(
    ("fields", "field"),
    [({"technician": "nobody"}, "technician"), ({"technician": "tobin"}, "technician"),
     ({"expires_at": "2026-06-09T19:05:00Z"}, "expires_at"), ({"expires_at": "tomorrow"}, "expires_at"),
     ({"last_used_at": "2026-06-09T19:05:00Z"}, "last_used_at")],
)  # fmt: skip
def test_a_token_that_would_open_nothing_is_refused(ask: Ask, fields: dict[str, str], field: str) -> None:
    ask("PATCH", "/v1/technicians/tobin", {"left_on": "2026-06-01"})
    answer = ask("POST", "/v1/tokens", {"name": "x", "role": "technician", **fields})

    assert (answer.status_code, [each["field"] for each in answer.get_json()["errors"]]) == (422, [field])


@pytest.mark.parametrize("named", [{}, {"technician": None}, {"technician": "rhea"}])
def test_a_technicians_token_posts_as_that_technician(ask: Ask, named: dict[str, Any]) -> None:
    token = create(ask, technician="rhea")
    answer = ask("POST", "/v1/visits", VISIT | named, token=token)
    entry = ask("GET", "/v1/audit?resource=visit").get_json()["items"][0]

    assert answer.get_json()["visit"]["technician"] == "rhea"
    assert (entry["technician"], entry["token_id"]) == ("rhea", token.split("_")[1])


def test_a_technicians_token_posts_for_nobody_else(ask: Ask) -> None:
    token = create(ask, technician="rhea")
    posted = ask("POST", "/v1/visits", VISIT | {"technician": "tobin"}, token=token)
    ask("POST", "/v1/visits", VISIT, token=token)
    changed = ask("PATCH", f"/v1/visits/{VISIT['id']}", {"why": "x", "technician": "tobin"}, token=token)

    assert [each.status_code for each in (posted, changed)] == [422, 422]
    assert {each.get_json()["errors"][0]["field"] for each in (posted, changed)} == {"technician"}


def test_a_visit_by_others_is_of_no_technician(ask: Ask) -> None:
    others = VISIT | {"by": "others", "evidence": "reported"}
    answer = ask("POST", "/v1/visits", others, token=create(ask, technician="rhea"))

    assert (answer.status_code, answer.get_json()["visit"].get("technician")) == (201, None)


def test_a_reader_gets_the_pm_list_in_every_form_and_nothing_else(ask: Ask) -> None:
    token = create(ask, role="reader")
    forms = [ask("GET", f"/v1/pm-list?format={form}", token=token) for form in ("json", "csv", "ics", "html")]
    others = [ask("GET", path, token=token) for path in ("/v1/units", "/v1/sites", "/v1/visits", "/v1/exports")]

    assert [each.status_code for each in forms] == [200] * 4
    assert [each.headers["Cache-Control"] for each in forms] == ["no-store"] * 4
    assert [each.status_code for each in others] == [403] * 4


def last_used(ask: Ask, token: str) -> str | None:
    items = ask("GET", "/v1/tokens").get_json()["items"]
    return next(item["last_used_at"] for item in items if item["id"] == token.split("_")[1])


def test_the_last_use_is_recorded_once_an_hour(ask: Ask, clock: Clock, database: FleetDatabase) -> None:
    token = create(ask)
    assert last_used(ask, token) is None
    ask("GET", "/v1/units", token=token)
    assert last_used(ask, token) == "2026-06-09T19:05:00.000000Z"
    clock.now += timedelta(minutes=59)
    ask("GET", "/v1/units", token=token)
    assert last_used(ask, token) == "2026-06-09T19:05:00.000000Z"
    clock.now += timedelta(minutes=1)
    ask("GET", "/v1/units", token=token)

    assert last_used(ask, token) == "2026-06-09T20:05:00.000000Z"


def refusals(ask: Ask) -> list[tuple[Any, ...]]:
    items = ask("GET", "/v1/audit?resource=route&limit=500").get_json()["items"]
    return [(each["action"], each["key"], each["actor"], each["after"]) for each in items]


def test_a_refused_role_is_recorded_with_route_and_address_once_an_hour(ask: Ask, clock: Clock) -> None:
    token = create(ask)
    for _ in range(20):
        assert ask("DELETE", "/v1/tokens/x", token=token, address="192.0.2.7").status_code == 403
    after = {"reason": "role", "address": "192.0.2.7"}

    assert refusals(ask) == [("refused", "DELETE /v1/tokens/{token_id}", "Rhea's phone", after)]
    clock.now += timedelta(hours=1)
    ask("DELETE", "/v1/tokens/x", token=token)
    assert len(refusals(ask)) == 2


def test_a_revoked_token_is_recorded_and_an_unknown_one_is_not(ask: Ask) -> None:
    token = create(ask)
    ask("DELETE", f"/v1/tokens/{token.split('_')[1]}")
    for shown in (token, token, token + "x", "gf_a_b"):
        assert ask("GET", "/v1/units", token=shown).status_code == 401

    assert [(key, after["reason"]) for _, key, _, after in refusals(ask)] == [("GET /v1/units", "revoked")]


def test_unknown_tokens_are_limited_by_address(ask: Ask, clock: Clock) -> None:
    token = create(ask)
    ask("GET", "/v1/units", token=token)
    tried = [ask("GET", "/v1/units", token=f"gf_a_{number}") for number in range(12)]

    assert [each.status_code for each in tried] == [401] * 10 + [429] * 2
    assert (tried[-1].headers["Retry-After"], tried[-1].get_json()["type"]) == ("60", "/problems/too-many-attempts")
    assert ask("GET", "/v1/units", token=token).status_code == 200
    assert ask("GET", "/v1/units", token=token, address="192.0.2.9").status_code == 200
    assert ask("GET", "/v1/units", token="gf_a_b", address="192.0.2.9").status_code == 401
    clock.now += timedelta(minutes=1)
    assert ask("GET", "/v1/units", token="gf_a_b").status_code == 401


def test_a_valid_token_that_is_new_at_a_limited_address_waits(ask: Ask, clock: Clock) -> None:
    token = create(ask)
    for number in range(10):
        ask("GET", "/v1/units", token=f"gf_a_{number}", address="192.0.2.9")

    assert ask("GET", "/v1/units", token=token, address="192.0.2.9").status_code == 429
    clock.now += timedelta(minutes=1)
    assert ask("GET", "/v1/units", token=token, address="192.0.2.9").status_code == 200


@pytest.mark.parametrize("authorization", ["Basic é", "Basic \xff", "Bearer é", "Basic 4pyT", "é é"])
def test_what_is_not_ascii_opens_nothing(client: FlaskClient, authorization: str) -> None:
    answer = client.get("/v1/tokens", headers={"Authorization": authorization})

    assert (answer.status_code, answer.mimetype) == (401, "application/problem+json")


def test_the_log_names_address_token_and_reason_of_every_refusal(ask: Ask, app: Flask, lines: io.StringIO) -> None:
    token, revoked = create(ask), create(ask)
    ask("DELETE", f"/v1/tokens/{revoked.split('_')[1]}")
    lines.truncate(0)
    lines.seek(0)
    for shown in (token, revoked, "gf_a_b"):
        ask("GET", "/v1/tokens", token=shown, address="192.0.2.7")
    app.test_client().get("/v1/tokens", environ_base={"REMOTE_ADDR": "192.0.2.7"})
    logged = [json.loads(line) for line in lines.getvalue().splitlines()]

    assert {each["address"] for each in logged} == {"192.0.2.7"}
    assert [(each["status"], each["token"], each["reason"]) for each in logged] == [
        (403, token.split("_")[1], "role"),
        (401, revoked.split("_")[1], "revoked"),
        (401, None, "unknown token"),
        (401, None, "no token"),
    ]


def test_a_token_is_recognised_only_while_it_is_valid(database: FleetDatabase) -> None:
    with database.writing() as store:
        _, text = tokens.create(store, name="x", role="owner", expires_at=MAKER.at + timedelta(hours=1), actor=MAKER)
    with database.reading() as store:
        token = tokens.known(store, text)

    assert token is not None
    assert [token.ended(MAKER.at + timedelta(minutes=minutes)) for minutes in (59, 60)] == [None, "expired"]
