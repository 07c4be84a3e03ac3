"""The first answer to a key, repeated after an export and an import into an empty database."""

from datetime import timedelta

import orjson
import pytest

from service.usecases.housekeeping import forget_old
from tests.api.resources.following import export, imported, stocked, take_in

AT = {"unit": "GU-0007", "kind": "maintenance", "arrived_at": "2026-06-09T08:00:00-06:00"}
CALL = {"received_at": "2026-06-09T08:00:00-06:00", "unit": "GU-0007", "symptom": "warm_pour"}
STOP = {
    "site": "lantern-quay", "crew": ["rhea"], "arrived_at": "2026-06-08T08:00:00-06:00", "access": "no_access",
}  # fmt: skip
OTHER = {"/v1/visits": {"outcome": "down"}, "/v1/calls": {"words": "foam"}, "/v1/attendances": {"crew": ["tobin"]}}
POSTED = {"/v1/visits": AT, "/v1/calls": CALL, "/v1/attendances": STOP}


@pytest.fixture
def asked(shop):
    """Posts a body with a key, as a role."""
    stocked(shop)
    return lambda path, key="job 1", role="dispatcher", **more: shop.ask(
        "POST", path, POSTED[path] | more, role=role, Idempotency_Key=key
    )


def answers(exported: bytes):
    return [line for line in map(orjson.loads, exported.splitlines()) if line["record"] == "answer"]


@pytest.mark.parametrize("path", POSTED)
def test_a_repeated_key_gets_the_first_answer_byte_for_byte(shop, asked, path) -> None:
    first = asked(path)
    assert first.status_code == 201, first.text
    exported, count = export(shop), len(shop.walk(path))
    imported(shop, exported)

    again = asked(path)
    assert (again.status_code, again.data, again.headers["Location"]) == (201, first.data, first.headers["Location"])
    assert [each["id"] for each in shop.walk(path)].count(again.headers["Location"].rpartition("/")[2]) == 1
    assert len(shop.walk(path)) == count
    assert "was used before with another body" in asked(path, **OTHER[path]).json["detail"]
    assert export(shop) == exported


def test_the_key_belongs_to_the_tokens_of_its_name_alone(shop, asked) -> None:
    asked("/v1/visits")
    exported = export(shop)
    imported(shop, exported)

    assert [line["token"] for line in answers(exported) if line["key"] == "job 1"] == ["the dispatcher"]
    assert asked("/v1/visits", role="owner").status_code == 201
    assert len(shop.walk("/v1/visits")) == 2


def test_the_answer_to_an_id_is_everyones(shop, asked) -> None:
    body = AT | {"id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77"}
    first = shop.ask("POST", "/v1/visits", body, role="dispatcher")
    visit = shop.get(f"/v1/visits/{body['id']}")
    shop.patch(f"/v1/visits/{body['id']}", {"why": "seen", "outcome": "down"}, visit["version"])
    exported = export(shop)
    imported(shop, exported)

    assert shop.ask("POST", "/v1/visits", body, role="owner").data == first.data


def test_imported_again_it_is_unchanged_and_another_one_is_left_out(shop, asked) -> None:
    asked("/v1/visits")
    exported = export(shop)
    count = len(answers(exported))
    (line,) = (line for line in answers(exported) if line["key"] == "job 1")

    assert take_in(shop, exported)["unchanged"]["answer"] == count
    assert take_in(shop, orjson.dumps(line | {"body": '{"other": 1}'}))["left_out"] == {"answer": 1}
    assert export(shop) == exported


def test_no_line_holds_a_secret_or_a_tokens_id(shop, asked) -> None:
    asked("/v1/visits")
    text = export(shop).decode()
    shown = [part for token in shop.tokens.values() for part in token.split("_") if len(part) > 8]

    assert len(shown) >= len(shop.tokens)
    assert [part for part in shown if part in text] == []


@pytest.mark.parametrize(
    "change",
    [{"id": "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b78"}, {"body": "[]"}, {"body": "{"}, {"fingerprint": "x"},
     {"given_at": "2027-06-09T12:00:00Z"}, {"key": ""}, {"caller": "x"}],
)  # fmt: skip
def test_a_line_that_cannot_be_is_refused(shop, asked, change) -> None:
    asked("/v1/visits")
    (line,) = (line for line in answers(export(shop)) if line["key"] == "job 1")
    answer = shop.app.test_client().post(
        "/v1/imports", data=orjson.dumps(line | change), content_type="application/x-ndjson",
        headers={"Authorization": f"Bearer {shop.tokens['owner']}"},
    )  # fmt: skip

    assert answer.status_code == 422


def test_it_is_forgotten_after_90_days_as_any(shop, asked) -> None:
    asked("/v1/visits")
    imported(shop, export(shop))
    shop.now += timedelta(days=92)
    with shop.database.writing() as store:
        forget_old(store, shop.now)

    assert answers(export(shop)) == []
