"""Give out, list and revoke tokens over HTTP."""

from base64 import urlsafe_b64decode
from typing import Any

import pytest
from flask.testing import FlaskClient

Headers = dict[str, str]


def create_token(client: FlaskClient, headers: Headers, **more: Any) -> Any:
    return client.post("/v1/tokens", json={"name": "Rhea", "role": "technician", **more}, headers=headers).get_json()


def test_a_new_token_opens_the_door(client: FlaskClient, as_owner: Headers) -> None:
    token = create_token(client, as_owner, role="owner")["token"]

    assert client.get("/v1/tokens", headers={"Authorization": f"Bearer {token}"}).status_code == 200


def test_the_answer_reports_the_token_as_recorded(client: FlaskClient, as_owner: Headers) -> None:
    shown = create_token(client, as_owner, units_shown="si")

    assert shown == {
        "id": shown["token"].split("_")[1],
        "name": "Rhea",
        "role": "technician",
        "units_shown": "si",
        "technician": None,
        "created_at": "2026-06-09T19:05:00.000000Z",
        "expires_at": None,
        "last_used_at": None,
        "revoked_at": None,
        "token": shown["token"],
    }


def test_a_secret_has_256_random_bits(client: FlaskClient, as_owner: Headers) -> None:
    """OWASP ASVS 5.0.0, 7.2.3 and 11.5.1, asks for 128."""
    secrets = [create_token(client, as_owner)["token"].split("_", 2)[2] for _ in range(20)]

    assert {len(urlsafe_b64decode(secret + "=")) for secret in secrets} == {32}
    assert len(set(secrets)) == 20


def test_the_list_never_reports_a_secret(client: FlaskClient, as_owner: Headers) -> None:
    secret = create_token(client, as_owner)["token"].split("_", 2)[2]
    answer = client.get("/v1/tokens", headers=as_owner)

    assert [item["name"] for item in answer.get_json()["items"]].count("Rhea") == 1
    assert secret not in answer.text


def test_the_list_gives_each_token_once_page_by_page(client: FlaskClient, as_owner: Headers) -> None:
    made = {create_token(client, as_owner, name=f"N{number}")["id"] for number in range(5)}
    listed, path = [], "/v1/tokens?limit=2"
    while path:
        page = client.get(path, headers=as_owner).get_json()
        listed += [item["id"] for item in page["items"]]
        path = page["next"]

    assert len(listed) == len(set(listed)) == 6
    assert made < set(listed)


def test_revoking_twice_is_as_good_as_once(client: FlaskClient, as_owner: Headers) -> None:
    path = f"/v1/tokens/{create_token(client, as_owner)['id']}"

    assert client.delete(path, headers=as_owner).status_code == 204
    assert client.delete(path, headers=as_owner).status_code == 204
    assert len(client.get("/v1/audit?resource=token&limit=9", headers=as_owner).get_json()["items"]) == 3


def test_a_token_that_is_not_there_cannot_be_revoked(client: FlaskClient, as_owner: Headers) -> None:
    assert client.delete("/v1/tokens/none", headers=as_owner).status_code == 404


@pytest.mark.parametrize(
    ("change", "field"),
    [({"role": "boss"}, "role"), ({"name": ""}, "name"), ({"name": "x" * 101}, "name"), ({"name": 3}, "name"),
     ({"units_shown": "cgs"}, "units_shown"), ({"id": "mine"}, "id"), ({"token": "gf_a_b"}, "token")],
)  # fmt: skip
def test_what_cannot_be_is_refused_by_field(
    client: FlaskClient, as_owner: Headers, change: dict[str, Any], field: str
) -> None:
    answer = client.post("/v1/tokens", json={"name": "Rhea", "role": "owner", **change}, headers=as_owner)

    assert (answer.status_code, [shown["field"] for shown in answer.get_json()["errors"]]) == (422, [field])


def test_what_was_refused_is_not_recorded(client: FlaskClient, as_owner: Headers) -> None:
    client.post("/v1/tokens", data=b'{"name": "Rhea", "name": "Rhea", "role": "owner"}', headers=as_owner)

    assert len(client.get("/v1/tokens", headers=as_owner).get_json()["items"]) == 1
