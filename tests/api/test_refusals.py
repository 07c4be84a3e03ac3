"""A refusal is small, and what it costs is bounded by the size of the body: for every body and for import lines."""

import tracemalloc
from collections.abc import Callable, Iterator
from typing import Any

import orjson
import pytest
from flask import Flask
from marshmallow import fields

from service.api.state import EXTENSION
from service.app import RESOURCES
from service.schemas import reading
from service.schemas.records import SCHEMAS
from service.schemas.visits import VisitSchema
from service.usecases import tokens
from tests.schemas.bodies import BODIES, OPERATIONS, Path, at, places, whole

from .conftest import MAKER

SIZE = 30_000  # bytes of a body
MOST_MEMORY = 40  # bytes at the peak a byte of the body: the document as Python objects takes 30
FIXED = 600_000  # bytes of any request
MOST_ANSWER = 150_000
PATHS = {
    "{code}": "condenser_clean", "{tag}": "GU-1", "{id}": "1", "{id:int}": "1", "{number:int}": "1",
    "{year:int}": "2026",
}  # fmt: skip


def bodies(name: str) -> Iterator[tuple[str, bytes]]:
    """Bodies that are wrong in many places, each with the name of what is wrong."""
    right, schema = whole(name), BODIES[name]
    yield "unknown fields", orjson.dumps({f"f{n}": n for n in range(SIZE // 10)})
    yield "repeated names", b"{" + b",".join([b'"a":1,"b":2'] * (SIZE // 12)) + b"}"
    yield "huge numbers", b"[" + b",".join([b"1" * 40] * (SIZE // 41)) + b"]"
    yield "no numbers", b"[" + b",".join([b"NaN"] * (SIZE // 4)) + b"]"
    yield "NUL characters", b"[" + b",".join([b'"\\u0000"'] * (SIZE // 9)) + b"]"
    yield "deep", b"[" * (SIZE // 2) + b"]" * (SIZE // 2)
    yield "long names", orjson.dumps({"n" * (SIZE // 2): [{f"{n}": "\0"} for n in range(SIZE // 25)]})
    yield "one long text", orjson.dumps(dict.fromkeys(right, "x" * (SIZE // len(right))))
    for path, field in places(schema):
        if isinstance(field, fields.List):
            yield f"empty parts in {_shown(path)}", _filled(right, path, b"{}", field)
            yield f"numbers in {_shown(path)}", _filled(right, path, b"0", field)
            yield f"unknown fields in {_shown(path)}", _filled(right, path, b'{"a":{},"b":[]}', field)
            yield f"few parts of {_shown(path)}", _filled(right, path, b"{}", field, most=field.validators[0].max)


def _shown(path: Path) -> str:
    return ".".join(map(str, path))


def _filled(right: Any, path: Path, part: bytes, field: Any, most: int = SIZE) -> bytes:
    many = [orjson.Fragment(part)] * min(most, SIZE // (len(part) + 1))
    return orjson.dumps(at(right, path, many))


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Counts the faults that reading makes."""
    counts, add = [0], reading.Faults.add

    def count(self: reading.Faults, path: Any, value: Any, message: str, *meant: Any) -> None:
        counts[0] += 1
        add(self, path, value, message, *meant)

    monkeypatch.setattr(reading.Faults, "add", count)
    return counts


@pytest.fixture
def send(file_app: Flask) -> Callable[[str, str, bytes, str], Any]:
    """Sends a body as an owner and measures: the answer, and the peak of memory."""
    database = file_app.extensions[EXTENSION].database
    with database.writing() as store:
        token = tokens.create(store, name="one", role="owner", units_shown="us", actor=MAKER)[1]
    client = file_app.test_client()
    headers = {"Authorization": f"Bearer {token}", "If-Match": "*"}

    def measured(method: str, path: str, body: bytes, media: str = "application/json") -> tuple[Any, int]:
        tracemalloc.start()
        try:
            answer = client.open(path, method=method, data=body, headers=headers, content_type=media)
            return answer, tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    return measured


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda each: f"{each.method} {each.path}")
def test_a_refused_body_costs_what_its_size_allows(operation: Any, send: Any, counted: list[int]) -> None:
    path = operation.path
    for name, value in PATHS.items():
        path = path.replace(name, value)
    send(operation.method, path, b"{}")  # what is made once, at the first request
    for wrong, body in bodies(f"{operation.method} {operation.path}"):
        counted[0] = 0
        answer, peak = send(operation.method, path, body)
        assert answer.status_code in (400, 422), wrong
        assert len(answer.json.get("errors", ())) <= 50, wrong
        assert len(answer.data) <= MOST_ANSWER, wrong
        assert counted[0] <= reading.MOST_COUNTED, wrong
        assert peak <= MOST_MEMORY * len(body) + FIXED, (wrong, peak / len(body))


@pytest.mark.parametrize("kind", SCHEMAS)
def test_a_refused_line_costs_what_its_size_allows(kind: str, send: Any, counted: list[int]) -> None:
    record = f'{{"record":"{kind}",'.encode()
    for wrong, body in bodies(f"line {kind}"):
        line = record + body[1:] if body.startswith(b"{") else body
        counted[0] = 0
        answer, peak = send("POST", "/v1/imports", line, "application/x-ndjson")
        assert (answer.status_code, len(answer.json["errors"]) <= 50) == (422, True), wrong
        assert len(answer.data) <= MOST_ANSWER, wrong
        assert counted[0] <= reading.MOST_COUNTED, wrong
        assert peak <= MOST_MEMORY * len(line) + FIXED, (wrong, peak / len(line))


@pytest.mark.parametrize("line", [b"1", b"{}", b'{"record":"visit"}', b"[[[", b'{"record":"unit","a":1,"b":[]}'])
@pytest.mark.parametrize("query", ["", "?keep_good=true"])
def test_an_import_of_many_wrong_lines_names_some_and_counts_the_rest(line: bytes, query: str, send: Any) -> None:
    body = b"\n".join([line] * (SIZE // (len(line) + 1)))

    answer, peak = send("POST", f"/v1/imports{query}", body, "application/x-ndjson")

    assert peak <= MOST_MEMORY * len(body) + 1_500_000
    if query:
        assert answer.status_code == 201
        assert len(answer.json["errors"]) == 1000
        assert answer.json["more_errors"] >= len(body.splitlines()) - 1000
    else:
        assert (answer.status_code, len(answer.json["errors"])) == (422, 50)
        assert "50 of " in answer.json["detail"]


def test_a_query_of_many_unknown_names_is_refused_with_fifty(send: Any) -> None:
    answer, _ = send("GET", "/v1/units?" + "&".join(f"a{n}=1" for n in range(5000)), b"")

    assert (answer.status_code, len(answer.json["errors"])) == (422, 50)


def test_many_implausible_readings_are_refused_with_fifty(send: Any) -> None:
    visit = whole("POST /v1/visits")
    readings = [{"quantity": "supply_voltage", "value": "999999 V", "when": "as_left"}] * 500

    answer, _ = send("POST", "/v1/assessments", orjson.dumps({**visit, "readings": readings}))

    assert (answer.status_code, len(answer.json["errors"]) <= 50) == (422, True)


def test_every_body_is_measured() -> None:
    declared = [each for routes in RESOURCES for each in routes.operations if each.body is not None]

    assert [f"{each.method} {each.path}" for each in declared] == [name for name in BODIES if name[:4] != "line"]
    assert any(type(each.body) is VisitSchema for each in declared)
