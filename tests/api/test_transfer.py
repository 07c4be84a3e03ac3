"""The whole database over HTTP: who may take it in and out, and that neither disturbs the visits posted meanwhile."""

import json
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest
from flask.testing import FlaskClient
from sqlalchemy import select
from werkzeug.test import TestResponse

from service.app import create_app
from service.domain.errors import Unavailable
from service.settings import Settings
from service.storage.tables import metadata
from service.usecases.system import FleetDatabase
from service.usecases.transfer import exporting
from tests.emptying import empty as delete_all

LINES = "application/x-ndjson"
VISIT_ID = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b7{}"
Ask = Callable[..., TestResponse]
FLEET: list[dict[str, Any]] = [
    {"record": "customer", "code": "lantern", "name": "The Lantern Room"},
    {"record": "technician", "code": "rhea", "name": "Rhea"},
    {"record": "site", "code": "quay", "customer": "lantern", "name": "Quay", "time_zone": "America/Denver"},
    {"record": "unit", "tag": "GU-1", "site": "quay", "components": [{"code": "fan-1", "kind": "condenser_fan"}]},
]


def visit(n: int, **fields: Any) -> dict[str, Any]:
    plain = {"id": VISIT_ID.format(n), "unit": "GU-1", "kind": "maintenance", "arrived_at": "2026-06-09T12:00:00-06:00"}
    return plain | fields


def as_lines(*records: dict[str, Any]) -> bytes:
    return "\n".join(json.dumps(record) for record in records).encode()


@pytest.fixture
def ask(client: FlaskClient, as_owner: dict[str, str]) -> Ask:
    """One request of an owner."""

    def asked(method: str, path: str, body: Any = None, **headers: str) -> TestResponse:
        sent = as_owner | {name.replace("_", "-"): value for name, value in headers.items()}
        if isinstance(body, bytes):
            return client.open(path, method=method, data=body, content_type=LINES, headers=sent)
        text = None if body is None else json.dumps(body)  # the names in the order in which they are written here
        return client.open(path, method=method, data=text, content_type="application/json", headers=sent)

    return asked


def import_records(ask: Ask, *records: dict[str, Any], query: str = "") -> TestResponse:
    return ask("POST", f"/v1/imports{query}", as_lines(*records))


@pytest.fixture
def posted(ask: Ask) -> Ask:
    """A fleet with visits that were posted, corrected and voided by clients of all sorts."""
    assert import_records(ask, *FLEET).status_code == 201
    reading = {"quantity": "bath_temperature", "value": {"value": 47.0, "unit": "degF"}, "when": "as_found"}
    fan = {"component": "fan-2", "kind": "condenser_fan", "reason": "failed", "condition": "seized", "evidence": "seen"}
    bodies = [
        visit(1, readings=[reading, reading | {"value": " +47.50degF "}], by="us", technician=None),
        visit(2, arrived_at="2026-06-09T20:30:00+02:00", replacements=[fan], work="ölig\n🍺"),
        {name: part for name, part in visit(3, kind="service_call").items() if name != "id"},
    ]
    for body in bodies:
        key = {} if "id" in body else {"Idempotency_Key": "k"}
        assert ask("POST", "/v1/visits", body, **key).status_code == 201
    put_right(ask, 1, 1, why="misread", readings=[reading | {"value": {"unit": "degC", "value": 8}}])
    put_right(ask, 1, 2, work="z", why="a", arrived_at="2026-06-09T18:00:00Z")
    assert ask("POST", f"/v1/visits/{VISIT_ID.format(2)}/void", {"reason": "twice"}, If_Match='"1"').status_code == 200
    return ask


def put_right(ask: Ask, n: int, version: int, **changes: Any) -> None:
    answer = ask("PATCH", f"/v1/visits/{VISIT_ID.format(n)}", changes, If_Match=f'"{version}"')
    assert answer.status_code == 200, answer.text


@pytest.fixture
def empty(database: FleetDatabase) -> Callable[[], None]:
    """Makes the database forget everything but the tokens."""

    def emptied() -> None:
        with database.writing() as store:
            delete_all(store.link, [table for table in reversed(metadata.sorted_tables) if table.name != "token"])

    return emptied


def dump(database: FleetDatabase) -> dict[str, Any]:
    with database.reading() as store:
        tables = [table for table in metadata.sorted_tables if table.name not in ("audit", "audit_chain")]
        columns = {table.name: [each for each in table.c if each.name != "last_used_at"] for table in tables}
        return {name: sorted(store.link.core(select(*each)), key=repr) for name, each in columns.items()}


def test_what_was_posted_is_exported_one_record_a_line(posted: Ask) -> None:
    answer = posted("GET", "/v1/exports?trail=false")
    shown = [json.loads(line)["record"] for line in answer.data.splitlines()]

    assert (answer.status_code, answer.mimetype) == (200, LINES)
    assert answer.headers["Content-Disposition"] == 'attachment; filename="fleet.jsonl"'
    assert shown == [
        "customer",
        "technician",
        "site",
        "unit",
        "visit",
        "correction",
        "correction",
        "visit",
        "void",
        "visit",
        "answer",
        "answer",
        "answer",
        "version",
        "version",
        "version",
    ]
    assert answer.data.endswith(b"}\n")


def test_a_posted_database_comes_through_another_byte_for_byte(posted: Ask, empty: Callable[[], None]) -> None:
    exported = posted("GET", "/v1/exports?trail=false").data
    empty()

    assert posted("POST", "/v1/imports", exported).json["added"]["visit"] == 3
    assert posted("GET", "/v1/exports?trail=false").data == exported


def test_a_database_imports_its_own_file_without_a_change(posted: Ask, database: FleetDatabase) -> None:
    before = dump(database)
    answer = posted("POST", "/v1/imports", posted("GET", "/v1/exports?trail=false").data)

    assert dump(database) == before
    assert answer.json == {
        "lines": 16,
        "added": {},
        "changed": {},
        "unchanged": {
            "customer": 1, "technician": 1, "site": 1, "unit": 1, "visit": 3, "correction": 2, "void": 1,
            "answer": 3, "version": 3,
        },
        "left_out": {},
        "errors": [],
        "more_errors": 0,
    }  # fmt: skip


def test_a_visit_imported_may_be_posted_again_with_the_same_body(ask: Ask) -> None:
    import_records(ask, *FLEET, {"record": "visit"} | visit(1))
    again = ask("POST", "/v1/visits", visit(1))

    assert (again.status_code, again.json["visit"]["id"]) == (201, VISIT_ID.format(1))
    assert ask("POST", "/v1/visits", visit(1, work="other")).status_code == 422


# --- who and what ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", ["technician", "dispatcher"])
def test_only_an_owner_imports_or_exports(client: FlaskClient, as_role: Any, role: str) -> None:
    caller = as_role(role)

    assert client.get("/v1/exports", headers=caller).status_code == 403
    assert client.post("/v1/imports", data=b"", content_type=LINES, headers=caller).status_code == 403


def test_nobody_without_a_token_imports_or_exports(client: FlaskClient) -> None:
    assert client.get("/v1/exports?trail=false").status_code == 401
    assert client.post("/v1/imports", data=b"", content_type=LINES).status_code == 401


@pytest.mark.parametrize("kind", ["application/json", "text/plain", None])
def test_a_file_of_another_type_is_refused(
    client: FlaskClient, as_owner: dict[str, str], database: FleetDatabase, kind: str | None
) -> None:
    before = dump(database)
    answer = client.post("/v1/imports", data=as_lines(*FLEET), content_type=kind, headers=as_owner)

    assert (answer.status_code, answer.mimetype) == (415, "application/problem+json")
    assert dump(database) == before


def test_a_file_larger_than_the_installation_takes_is_refused(
    database: FleetDatabase, settings: Settings, as_owner: dict[str, str]
) -> None:
    small = create_app(database, replace(settings, max_import=2000), clock=lambda: datetime(2026, 6, 9, tzinfo=UTC))
    send = small.test_client().post
    whole = as_lines(*FLEET).ljust(2000, b"\n")

    assert send("/v1/imports", data=whole + b"\n", content_type=LINES, headers=as_owner).status_code == 413
    assert send("/v1/imports", data=whole, content_type=LINES, headers=as_owner).status_code == 201


def test_a_file_may_be_larger_than_any_other_body(ask: Ask, settings: Settings) -> None:
    whole = as_lines(*FLEET)

    assert ask("POST", "/v1/imports", whole + b"\n" * settings.max_body).status_code == 201


def test_every_error_is_reported_by_line_and_field_and_nothing_is_stored(ask: Ask, database: FleetDatabase) -> None:
    before = dump(database)
    answer = import_records(
        ask, *FLEET, {"record": "visit"} | visit(1, left_at="2026-06-08T00:00:00Z"), {"record": "bill"}
    )

    assert (answer.status_code, answer.json["type"]) == (422, "/problems/invalid")
    assert [error["field"] for error in answer.json["errors"]] == ["lines.5.left_at", "lines.6.record"]
    assert answer.json["errors"][1]["value"] == "bill"
    assert dump(database) == before


def test_the_good_lines_are_kept_when_asked_and_the_others_reported(ask: Ask) -> None:
    bad = {"record": "visit"} | visit(1, readings=[{"quantity": "bath_level", "value": 80, "when": "as_found"}])
    answer = import_records(ask, *FLEET, bad, {"record": "visit"} | visit(2), query="?keep_good=true")

    assert answer.status_code == 201
    assert answer.json["added"] == {"customer": 1, "technician": 1, "site": 1, "unit": 1, "visit": 1}
    assert [(error["line"], error["field"], error["value"]) for error in answer.json["errors"]] == [
        (5, "readings.0.value", 80)
    ]
    assert ask("GET", f"/v1/visits/{VISIT_ID.format(2)}").status_code == 200


def test_a_file_that_is_no_text_is_reported_line_by_line(ask: Ask) -> None:
    answer = ask("POST", "/v1/imports", b"\x89PNG\r\n\x1a\n\x00\x00\n")

    assert [error["field"] for error in answer.json["errors"]] == ["lines.1.line", "lines.2.line", "lines.3.line"]


def test_an_import_stands_in_the_audit_trail_under_the_callers_name(ask: Ask) -> None:
    import_records(ask, *FLEET, {"record": "visit"} | visit(1))
    entries = ask("GET", "/v1/audit?resource=visit").json["items"]

    assert [(entry["action"], entry["actor"], entry["key"]) for entry in entries] == [
        ("imported", "owner one", VISIT_ID.format(1))
    ]


# --- while others work -----------------------------------------------------------------------------------------------


def read_on(answer: TestResponse) -> Iterator[bytes]:
    return iter(answer.iter_encoded())


def test_a_file_is_one_moment_of_the_database_whatever_is_posted_meanwhile(
    ask: Ask, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(exporting, "CHUNK", 1)
    import_records(ask, *FLEET, {"record": "visit"} | visit(1), {"record": "visit"} | visit(2))
    whole = ask("GET", "/v1/exports?trail=false").data
    parts = read_on(ask("GET", "/v1/exports?trail=false"))
    begun = next(parts)
    statuses = [ask("POST", "/v1/visits", visit(n)).status_code for n in (3, 4)]
    put_right(ask, 2, 1, why="late", work="changed meanwhile")

    assert statuses == [201, 201]
    assert begun + b"".join(parts) == whole
    assert len(ask("GET", "/v1/exports?trail=false").data) > len(whole)


def test_visits_are_posted_while_a_file_is_read_slowly(ask: Ask) -> None:
    import_records(ask, *FLEET)
    parts = read_on(ask("GET", "/v1/exports?trail=false"))
    next(parts)
    done: list[int] = []
    poster = threading.Thread(
        target=lambda: done.extend(ask("POST", "/v1/visits", visit(n)).status_code for n in (1, 2))
    )
    poster.start()
    poster.join(10)

    assert done == [201, 201]
    assert b"visit" not in b"".join(parts)


def test_a_database_that_cannot_be_read_is_a_problem_and_no_broken_file(
    ask: Ask, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(_: Any, **__: Any) -> Iterator[Any]:
        raise Unavailable("The disk that holds the database does not answer as it should.")
        yield

    monkeypatch.setattr(exporting, "records", broken)
    answer = ask("GET", "/v1/exports?trail=false")

    assert (answer.status_code, answer.mimetype) == (503, "application/problem+json")
    assert answer.headers["Retry-After"] == "1"


def test_a_reader_that_goes_away_gives_back_its_place(ask: Ask, database: FleetDatabase) -> None:
    import_records(ask, *FLEET)
    for _ in range(40):  # more than there are connections
        answer = ask("GET", "/v1/exports?trail=false")
        next(read_on(answer))
        answer.close()

    assert ask("GET", "/v1/exports?trail=false").status_code == 200
