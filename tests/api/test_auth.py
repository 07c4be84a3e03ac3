"""Who may come in. Bearer tokens are RFC 6750, the password of HTTP Basic RFC 7617."""

import base64
import re
from collections.abc import Callable

import pytest
from flask.testing import FlaskClient

from service.api.auth import shown_token
from service.app import RESOURCES
from service.domain.errors import Unavailable
from service.domain.tokens import ROLES
from service.usecases.system import FleetDatabase

TokenOf = Callable[[str], str]


def status(client: FlaskClient, authorization: str | None) -> int:
    headers = {} if authorization is None else {"Authorization": authorization}
    return client.get("/v1/tokens", headers=headers).status_code


def basic(user: str, password: str) -> str:
    return "Basic " + base64.b64encode(f"{user}:{password}".encode()).decode()


def test_the_example_of_rfc_7617_is_read() -> None:
    assert shown_token("Basic QWxhZGRpbjpvcGVuIHNlc2FtZQ==") == "open sesame"


def test_the_example_of_rfc_6750_is_read() -> None:
    assert shown_token("Bearer mF_9.B5f-4.1JqM") == "mF_9.B5f-4.1JqM"


def test_a_token_opens_the_door_in_each_form(client: FlaskClient, token_of: TokenOf) -> None:
    token = token_of("owner")

    assert status(client, f"Bearer {token}") == 200
    assert status(client, f"bearer {token}") == 200
    assert status(client, basic("calendar", token)) == 200
    assert status(client, basic("", token)) == 200


@pytest.mark.parametrize(
    "authorization",
    [
        None, "", "Bearer", "Bearer ", "Bearer x", "Bearer gf__", "Bearer gf_a_b", "Basic", "Basic !!!", "Basic /w==",
        "Digest x", "Bearer gf_" + "a" * 5000 + "_b", basic("a", ""), basic("gf_a_b", "gf_a_b"),
    ],
)  # fmt: skip
def test_without_a_valid_token_the_door_stays_shut(client: FlaskClient, authorization: str | None) -> None:
    assert status(client, authorization) == 401


def test_a_401_says_both_ways_to_come_in(client: FlaskClient) -> None:
    answer = client.get("/v1/tokens")

    schemes = [value.partition(" ")[0].lower() for value in answer.headers.getlist("WWW-Authenticate")]
    assert (schemes, answer.mimetype) == (["bearer", "basic"], "application/problem+json")


def test_another_secret_under_a_known_id_stays_out(client: FlaskClient, token_of: TokenOf) -> None:
    token = token_of("owner")

    assert status(client, f"Bearer {token[:-1]}") == 401
    assert status(client, f"Bearer {token[:-1]}{'B' if token[-1] == 'A' else 'A'}") == 401


@pytest.mark.parametrize("role", ["technician", "dispatcher"])
def test_a_role_that_may_not_is_403(client: FlaskClient, token_of: TokenOf, role: str) -> None:
    answer = client.get("/v1/tokens", headers={"Authorization": f"Bearer {token_of(role)}"})

    assert (answer.status_code, answer.get_json()["type"]) == (403, "/problems/forbidden")


def test_every_operation_is_for_its_roles_alone(client: FlaskClient, token_of: TokenOf) -> None:
    headers = {role: {"Authorization": f"Bearer {token_of(role)}"} for role in ROLES}
    for operation in (each for routes in RESOURCES for each in routes.operations if each.allow):
        path = re.sub(r"{\w+}", "x", re.sub(r"{\w+:int}", "1", operation.path))
        assert client.open(path, method=operation.method).status_code == 401, operation.path
        for role in ROLES:
            refused = client.open(path, method=operation.method, headers=headers[role]).status_code in (401, 403)
            assert refused is (role not in operation.allow), (operation.method, path, role)


def test_what_needs_no_token_is_named_here() -> None:
    """Whatever else is added is closed, or stands in this list."""
    opened = {each.path for routes in RESOURCES for each in routes.operations if not each.allow}

    assert opened == {"/docs", "/docs/{page}", "/healthz", "/readyz", "/metrics", "/problems/{name}"}


def test_a_token_in_the_address_opens_nothing(client: FlaskClient, token_of: TokenOf) -> None:
    token = token_of("owner")

    assert client.get(f"/v1/tokens?token={token}&access_token={token}").status_code == 401


def test_a_revoked_token_opens_nothing(client: FlaskClient, token_of: TokenOf) -> None:
    token, other = token_of("owner"), token_of("owner")
    client.delete(f"/v1/tokens/{token.split('_')[1]}", headers={"Authorization": f"Bearer {other}"})

    assert status(client, f"Bearer {token}") == 401
    assert status(client, f"Bearer {other}") == 200


def test_the_role_is_asked_before_the_body_is_read(client: FlaskClient, token_of: TokenOf) -> None:
    headers = {"Authorization": f"Bearer {token_of('technician')}"}

    assert client.post("/v1/tokens", data=b"not json", headers=headers).status_code == 403


def test_a_database_that_cannot_be_read_is_503_at_the_door(
    client: FlaskClient, database: FleetDatabase, monkeypatch: pytest.MonkeyPatch
) -> None:
    def locked() -> None:
        raise Unavailable("The database does not answer.")

    monkeypatch.setattr(database.place, "reading", locked)
    answer = client.get("/v1/tokens", headers={"Authorization": "Bearer gf_a_b"})

    assert (answer.status_code, answer.mimetype) == (503, "application/problem+json")


def test_no_secret_is_kept(database: FleetDatabase, token_of: TokenOf) -> None:
    token = token_of("owner")
    with database.reading() as store:
        kept = repr(store.tokens.page(after=None, limit=9))

    assert token.split("_", 2)[2] not in kept
