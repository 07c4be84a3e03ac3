"""The audit trail over HTTP."""

from typing import Any

import pytest
from flask.testing import FlaskClient

Headers = dict[str, str]


def entries(client: FlaskClient, headers: Headers, **asked: Any) -> list[dict[str, Any]]:
    items: list[dict[str, Any]] = client.get("/v1/audit", query_string=asked, headers=headers).get_json()["items"]
    return items


@pytest.fixture
def made(client: FlaskClient, as_owner: Headers) -> str:
    """The id of a token created and revoked over HTTP."""
    body = {"name": "Rhea", "role": "technician"}
    token_id: str = client.post("/v1/tokens", json=body, headers=as_owner).get_json()["id"]
    client.delete(f"/v1/tokens/{token_id}", headers=as_owner)
    return token_id


def test_a_change_reports_who_when_what_before_and_after(client: FlaskClient, as_owner: Headers, made: str) -> None:
    entry = entries(client, as_owner, key=made)[0]
    kind = {"role": "technician", "units_shown": "us", "technician": None, "expires_at": None}
    token = {"name": "Rhea", **kind, "revoked_at": None}

    assert entry == {
        "id": entry["id"],
        "at": "2026-06-09T19:05:00.000000Z",
        "actor": "owner one",
        "role": "owner",
        "token_id": as_owner["Authorization"].split("_")[1],
        "technician": None,
        "request_id": entry["request_id"],
        "action": "changed",
        "resource": "token",
        "key": made,
        "before": token,
        "after": token | {"revoked_at": "2026-06-09T19:05:00.000000Z"},
        "hash": entry["hash"],
    }


def test_the_newest_change_comes_first(client: FlaskClient, as_owner: Headers, made: str) -> None:
    changes = [(entry["action"], entry["key"]) for entry in entries(client, as_owner)]

    assert changes[:2] == [("changed", made), ("created", made)]


def test_the_request_is_named_by_the_servers_own_id(client: FlaskClient, as_owner: Headers) -> None:
    body = {"name": "Rhea", "role": "technician"}
    answer = client.post("/v1/tokens", json=body, headers=as_owner | {"X-Request-ID": "r-1"})

    assert entries(client, as_owner)[0]["request_id"] == answer.headers["X-Request-ID"] != "r-1"


@pytest.mark.parametrize(
    ("asked", "count"),
    [
        ({"resource": "token"}, 3), ({"resource": "unit"}, 0), ({"actor": "setup"}, 1), ({"actor": "owner one"}, 2),
        ({"since": "2026-06-09T13:05:00-06:00"}, 3), ({"until": "2026-06-09T13:05:00-06:00"}, 0),
        ({"since": "2026-06-09T19:05:01Z"}, 0), ({"until": "2026-06-09T19:05:01Z", "resource": "token"}, 3),
    ],
)  # fmt: skip
def test_entries_are_filtered(
    client: FlaskClient, as_owner: Headers, made: str, asked: dict[str, str], count: int
) -> None:
    assert len(entries(client, as_owner, **asked)) == count


def test_pages_join_without_gap_or_repeat(client: FlaskClient, as_owner: Headers, made: str) -> None:
    first = client.get("/v1/audit?limit=2&resource=token", headers=as_owner).get_json()
    rest = client.get(first["next"], headers=as_owner).get_json()

    assert [entry["id"] for entry in (*first["items"], *rest["items"])] == [3, 2, 1]
    assert rest["next"] is None


@pytest.mark.parametrize("since", ["yesterday", "2026-06-09", "2026-06-09T13:05:00", "2026-02-30T00:00:00Z"])
def test_an_instant_that_is_none_is_refused(client: FlaskClient, as_owner: Headers, since: str) -> None:
    answer = client.get("/v1/audit", query_string={"since": since}, headers=as_owner)

    assert answer.get_json()["errors"][0]["field"] == "since"


@pytest.mark.parametrize("role", ["technician", "dispatcher"])
def test_only_the_owner_reads_it(client: FlaskClient, as_role: Any, role: str) -> None:
    assert client.get("/v1/audit", headers=as_role(role)).status_code == 403


def test_a_refused_change_leaves_no_trace(client: FlaskClient, as_owner: Headers) -> None:
    client.post("/v1/tokens", json={"name": "Rhea", "role": "boss"}, headers=as_owner)

    assert len(entries(client, as_owner)) == 1
