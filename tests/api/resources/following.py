"""Where a record is looked for: export, import, audit trail and lists, and what is lost there."""

from collections.abc import Mapping
from typing import Any

import orjson
from marshmallow import Schema

from tests.api.resources.bodies_of_schemas import lost


def stocked(shop) -> None:
    """What the bodies refer to."""
    shop.empty()
    shop.unit()
    shop.unit("GU-0008")
    shop.post("/v1/technicians", {"code": "tobin", "name": "Tobin"})
    shop.post("/v1/sites", shop.example("site", code="other-quay"))
    for n in (1, 2):  # that a visit can answer
        called = {"id": f"0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c0{n}", "received_at": "2026-05-01T15:00:00Z"}
        shop.post("/v1/calls", called | {"symptom": "other"})


def export(shop) -> bytes:
    return shop.ask("GET", "/v1/exports?trail=false").data


def record_of(exported: bytes, **named: Any) -> dict[str, Any]:
    """The lines of one record, taken together: a unit's retirement is a line of its own."""
    lines = [orjson.loads(line) for line in exported.splitlines()]
    found: dict[str, Any] = {}
    for line in lines:
        if named.items() <= line.items():
            found |= line
    return found


def imported(shop, *exports: bytes) -> None:
    """An empty database, into which these files were imported."""
    shop.empty()
    for lines in exports:
        take_in(shop, lines)


def take_in(shop, lines: bytes) -> dict[str, Any]:
    answer = shop.app.test_client().post(
        "/v1/imports",
        data=lines,
        content_type="application/x-ndjson",
        headers={"Authorization": f"Bearer {shop.tokens['owner']}"},
    )
    assert answer.status_code == 201, answer.text
    tally: dict[str, Any] = answer.json
    return tally


def audited(shop, resource: str, key: str) -> dict[str, Any]:
    """The last change of a record in the audit trail."""
    return shop.get(f"/v1/audit?resource={resource}&key={key}")["items"][0]


def listed(shop, path: str, key: str) -> dict[str, Any]:
    """A record as its list has it."""
    (found,) = (item for item in shop.walk(path) if key in (item.get("id"), item.get("code"), item.get("tag")))
    return dict(found)


class Followed:
    """What is lost, by stage."""

    def __init__(self) -> None:
        self.lost: dict[str, list[str]] = {}

    def look(self, stage: str, schema: Schema, given: Mapping[str, Any], found: Any) -> None:
        if fields := lost(schema, given, found):
            self.lost[stage] = fields
