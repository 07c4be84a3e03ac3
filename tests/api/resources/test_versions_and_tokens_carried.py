"""What an import restores in a database without records (versions, numbers) and, by command alone, tokens."""

import json
from collections.abc import Callable, Iterator
from typing import Any

import orjson
import pytest

from service.domain.audit import Actor
from service.schemas.transfer import read_lines
from service.storage.last_ids import count_on
from service.usecases import tokens
from service.usecases.transfer import importing, token_lines
from tests.api.resources.conftest import Shop
from tests.api.resources.following import export, take_in
from tests.everything import set_task

WORK = {"site": "lantern-quay", "unit": "GU-0007", "technician": "rhea", "day": "2026-06-20"}
TASKS = ("/v1/tasks/pump_check", "/v1/units/GU-0007/tasks/condenser_clean")
READ = ("/v1/sites/lantern-quay", "/v1/units/GU-0007", "/v1/assignments/2", *TASKS)


@pytest.fixture
def forget(shop: Shop) -> Callable[[], None]:
    """Empties the database, with the numbers that were given out."""

    def emptied() -> None:
        shop.empty()
        with shop.database.writing() as store:
            count_on(store.link, {})

    return emptied


@pytest.fixture
def changed(shop: Shop, forget: Callable[[], None]) -> dict[str, str]:
    """ETags of records that were changed, of settings that were taken back, and of the second of three assignments."""
    forget()
    shop.unit()
    numbers = [shop.post("/v1/assignments", {**WORK, "task": task})["id"] for task in ("pump_check", None)]
    for turn in range(3):
        shop.patch("/v1/sites/lantern-quay", {"access": f"key {turn}"}, turn + 1)
    for path in TASKS:
        set_task(shop, path, {"interval": "5 months"})
        set_task(shop, path, {"interval": None})
    last = shop.post("/v1/assignments", {**WORK, "task": "condenser_clean"})["id"]
    for number in (numbers[0], last):
        assert shop.ask("DELETE", f"/v1/assignments/{number}", If_Match="*").status_code == 204
    return {path: shop.ask("GET", path).headers["ETag"] for path in read_paths(numbers[1])}


def read_paths(number: int) -> Iterator[str]:
    return (path.replace("assignments/2", f"assignments/{number}") for path in READ)


def test_versions_and_numbers_are_restored_where_there_was_no_record(
    shop: Shop, changed: dict[str, str], forget: Callable[[], None]
) -> None:
    lines = export(shop)
    last = max(record["id"] for record in map(json.loads, lines.splitlines()) if record["record"] == "last_id")
    forget()

    assert take_in(shop, lines)["left_out"] == {}
    assert {path: shop.ask("GET", path).headers["ETag"] for path in changed} == changed
    assert export(shop) == lines
    assert shop.post("/v1/assignments", WORK | {"task": "condenser_clean"})["id"] == last + 1


def test_where_there_are_records_these_keep_their_versions_and_numbers(
    shop: Shop, changed: dict[str, str], forget: Callable[[], None]
) -> None:
    lines = export(shop)
    again = take_in(shop, lines)
    assert (again["added"], again["changed"], again["left_out"]) == ({}, {}, {})
    forget()
    shop.unit()
    first = take_in(shop, lines)

    assert (first["left_out"]["version"], first["left_out"]["last_id"]) == (3, 1)
    assert shop.ask("GET", "/v1/sites/lantern-quay").headers["ETag"] == '"2"'
    assert [each["id"] for each in shop.walk("/v1/assignments")] == [1]
    assert len(changed) == len(READ)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"of": "site", "key": "nowhere", "version": 2}, "key"),
        ({"of": "task", "key": "nothing", "version": 2}, "key"),
        ({"of": "unit_task", "key": "GU-9/pump_check", "version": 2}, "key"),
        ({"of": "site", "key": "lantern-quay", "version": 0}, "version"),
        ({"of": "site", "key": "lantern-quay", "version": 2**31 - 1}, "version"),  # the next change would not fit
        ({"of": "bill", "key": "1", "version": 2}, "of"),
    ],
)
def test_a_version_of_what_is_not_there_is_refused(shop: Shop, wrong: dict[str, Any], field: str) -> None:
    body = json.dumps({"record": "version", **wrong}).encode()
    answer = shop.app.test_client().post(
        "/v1/imports",
        data=body,
        content_type="application/x-ndjson",
        headers={"Authorization": f"Bearer {shop.tokens['owner']}"},
    )

    assert [error["field"] for error in answer.json["errors"]] == [f"lines.1.{field}"]


def test_a_number_that_is_there_twice_is_refused(
    shop: Shop, changed: dict[str, str], forget: Callable[[], None]
) -> None:
    records = [json.loads(line) for line in export(shop).splitlines()]
    twice = next(record for record in records if record["record"] == "assignment")
    forget()
    tally = by_command(shop, [*records, {**twice, "day": "2026-06-21"}], keep_good=True)

    assert [(error.line, error.field) for error in tally.errors] == [(len(records) + 1, "id")]
    assert changed


def by_command(shop: Shop, records: list[dict[str, Any]], *, keep_good: bool = False) -> importing.Tally:
    with shop.database.writing() as store:
        by = Actor("command line", "owner", None, shop.now)
        lines = read_lines(map(orjson.dumps, records))
        return importing.import_records(store, by, lines, keep_good=keep_good, tokens=True)


@pytest.fixture
def a_token(shop: Shop) -> tuple[str, dict[str, Any]]:
    """A token's text, and its line; the database has it no more."""
    with shop.database.writing() as store:
        by = Actor("setup", "owner", None, shop.now)
        made, text = tokens.create(store, name="Screen", role="reader", actor=by)
        (line,) = (each for each in token_lines.lines(store) if each["id"] == made.id)
        store.link.plain(f"DELETE FROM token WHERE id = '{made.id}'")
    return text, json.loads(orjson.dumps(line))


def status(shop: Shop, text: str) -> int:
    head = {"Authorization": f"Bearer {text}"}
    return shop.app.test_client().get("/v1/pm-list", headers=head).status_code


def test_a_token_comes_in_by_command_alone_and_its_secret_is_in_no_file(
    shop: Shop, a_token: tuple[str, dict[str, Any]]
) -> None:
    text, line = a_token
    assert text.rpartition("_")[2] not in json.dumps(line)
    assert take_in(shop, json.dumps(line).encode())["left_out"] == {"token": 1}
    assert status(shop, text) == 401

    assert by_command(shop, [line]).added == {"token": 1}
    assert status(shop, text) == 200


def test_a_revoked_token_stays_revoked_and_one_of_another_secret_is_refused(
    shop: Shop, a_token: tuple[str, dict[str, Any]]
) -> None:
    text, line = a_token
    by_command(shop, [line])
    assert shop.ask("DELETE", f"/v1/tokens/{line['id']}").status_code == 204

    assert by_command(shop, [line]).unchanged == {"token": 1}
    assert status(shop, text) == 401
    wrong = [{**line, "hash": "0" * 64}, {**line, "id": "other", "technician": "nobody"}]
    with pytest.raises(importing.NothingStored) as refusal:
        by_command(shop, wrong)
    assert [error.field for error in refusal.value.tally.errors] == ["id", "technician"]


def test_a_token_that_the_file_has_as_revoked_is_revoked_here_and_its_role_stays(
    shop: Shop, a_token: tuple[str, dict[str, Any]]
) -> None:
    text, line = a_token
    by_command(shop, [line])
    assert by_command(shop, [{**line, "role": "owner"}]).unchanged == {"token": 1}
    assert status(shop, text) == 200

    revoked = {**line, "revoked_at": line["created_at"]}
    assert by_command(shop, [revoked]).changed == {"token": 1}
    newest = shop.get("/v1/audit")["items"][0]
    assert (newest["action"], newest["key"]) == ("imported", line["id"])
    assert status(shop, text) == 401
    assert by_command(shop, [revoked]).unchanged == {"token": 1}


def test_a_token_created_in_the_future_is_refused(shop: Shop, a_token: tuple[str, dict[str, Any]]) -> None:
    ahead = {**a_token[1], "created_at": "2100-01-01T00:00:00Z"}
    assert [error.field for error in by_command(shop, [ahead], keep_good=True).errors] == ["created_at"]
