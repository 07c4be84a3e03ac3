"""No field is lost: each that can be sent comes back from GET, a change, the export, an import and the audit trail.

The fields come from the schemas. A new one gets a value by its type; where that value would break a rule that
spans fields, give it one in BASES.
"""

import copy
import dataclasses
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args, get_type_hints

import orjson
import pytest
from marshmallow import Schema, fields

from service.domain.instants import parse_instant
from service.domain.record import fleet, visits
from service.schemas.fields import Choice, Code, Flag, Measure, Number, Parsed
from service.schemas.fleet import CustomerSchema, SiteSchema, TechnicianSchema
from service.schemas.tasks import TaskSchema
from service.schemas.units import UnitSchema
from service.schemas.visits import VisitCorrectionSchema, VisitSchema

from .conftest import Shop, example, shop_at

PLACEHOLDERS = ("x", "...")  # in a base; replaced, so that no two texts are equal
ID = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77"
UNIT = example("unit", registered_on="2024-01-01", retired_on="2026-06-09")
UNIT["components"][0] |= {"maker": "x", "model": "x", "removed_on": "2026-06-01", "rated_power": "1 W"}
UNIT["trunks"][0]["runs"][0] |= {"rise": "1 m"}
REPORTED = {"evidence": "reported", "on": "2026-06-01", "by": "others", "note": "x"}
VISIT = example("visit", by="us", kind="service_call")
del VISIT["complaint"]["reported_at"], VISIT["complaint"]["words"]
VISIT["readings"] += [
    {"quantity": "beer_temperature_at_tap", "value": "40 degF", "when": "as_left", "tap": "3"},
    {
        "quantity": "current",
        "value": "1 A",
        "when": "as_found",
        "component": "new-1",
        "kind": "pump",
        "evidence": "seen",
    },
]
VISIT["tasks"] += [{"task": "pump_check", "result": "not_done", "reason": "x"}]
VISIT["replacements"] = [
    {"component": "new-2", "kind": "pump", "reason": "failed", "condition": "seized", **REPORTED},
]
VISIT["observations"] = [{"code": "other", "component": "new-1", "note": "x"}]
BY_OTHERS = {"by": "others", "evidence": "reported", "firm": "x", "technician": None}
BASES: dict[str, dict[str, Any]] = {
    "customers": example("customer"),
    "technicians": example("technician"),
    "sites": example("site", technician="rhea"),
    "units": UNIT,
    "visits": VISIT | {"firm": None},
}
SCHEMAS: dict[str, Schema] = {
    "customers": CustomerSchema(),
    "technicians": TechnicianSchema(),
    "sites": SiteSchema(),
    "units": UnitSchema(),
    "visits": VisitSchema(),
}
KEYS = {"customers": "code", "technicians": "code", "sites": "code", "units": "tag", "visits": "id"}
SETTINGS = {"tasks/pump_check": "task", "units/GU-0007/tasks/pump_check": "unit_task"}


KEPT_BY_US = {"posted_at", "posted_by", "time_zone", "version", "void"}
TYPES: dict[type[Any], type[Schema]] = {
    fleet.Customer: CustomerSchema,
    fleet.Technician: TechnicianSchema,
    fleet.Site: SiteSchema,
    fleet.Unit: UnitSchema,
    visits.Visit: VisitSchema,
}


def filled(schema: Schema, given: dict[str, Any]) -> dict[str, Any]:
    """The body with a value for every field that can be sent; what a list lacks goes into its last entry."""
    made = copy.deepcopy(given)
    for name, field in schema.load_fields.items():
        inner = part_of(field)
        if inner is None:
            if name not in made or made[name] in PLACEHOLDERS:
                made[name] = value_of(field, name)
        elif isinstance(field, fields.Nested):
            made[name] = filled(inner, made.get(name, {}))
        else:
            *first, last = made.get(name, [{}])
            known = {key for entry in first for key in entry}
            made[name] = [*first, last | {k: v for k, v in filled(inner, last).items() if k in last or k not in known}]
    return made


def part_of(field: fields.Field[Any]) -> Schema | None:
    nested = field.inner if isinstance(field, fields.List) else field
    return nested.schema if isinstance(nested, fields.Nested) else None


def value_of(field: fields.Field[Any], name: str) -> Any:
    """A value that the field accepts."""
    if isinstance(field, fields.List):
        return [value_of(field.inner, name)]
    if isinstance(field, Measure):
        return field.json_schema["anyOf"][0]["examples"][0]
    if isinstance(field, Choice):
        return field.json_schema["enum"][0]
    if isinstance(field, Code):
        return "code-1"
    if isinstance(field, Parsed):
        return field.json_schema["examples"][0]
    plain = {Flag: True, fields.Boolean: True, Number: 1.5, fields.Integer: 1, fields.String: f"text of {name}"}
    return plain[type(field)]


def lost(sent: Any, found: Any, field: Any = None, path: str = "") -> Iterator[str]:
    """The paths of what was sent and is not in what was found."""
    inner = field if isinstance(field, Schema) else part_of(field) if field is not None else None
    if isinstance(sent, dict) and inner is not None:
        for name, value in sent.items():
            below = inner.load_fields[name]
            if not below.load_only:
                yield from lost(value, (found or {}).get(name), below, f"{path}.{name}")
    elif isinstance(sent, list) and isinstance(found, list) and len(sent) == len(found):
        for n, (one, other) in enumerate(zip(sent, found, strict=True)):
            yield from lost(one, other, field.inner if isinstance(field, fields.List) else None, f"{path}.{n}")
    elif not same(sent, found):
        yield f"{path}: {sent!r} was sent, {found!r} found"


def same(sent: Any, found: Any) -> bool:
    if isinstance(found, dict) and "entered" in found:
        return bool(found["entered"] == sent)
    if isinstance(sent, str) and isinstance(found, str) and "T" in sent and ":" in sent:
        return parse_instant(sent) == parse_instant(found)
    return bool(sent == found)


def body_of(resource: str) -> dict[str, Any]:
    return filled(SCHEMAS[resource], BASES[resource])


def least(resource: str, body: dict[str, Any]) -> dict[str, Any]:
    """The fields without which the resource cannot be made."""
    required = {name for name, field in SCHEMAS[resource].load_fields.items() if field.required}
    return {name: body[name] for name in {*required, KEYS[resource]}}


def stock(shop: Shop, resource: str) -> str:
    """Make what the resource needs around it; where it will be found."""
    if resource in ("units", "visits"):
        shop.unit()
        shop.unit("GU-0008")
    else:
        for name in ("customer", "technician"):
            if resource == "sites":
                shop.post(f"/v1/{name}s", example(name))
    body = BASES[resource]
    return f"/v1/{resource}/{body[KEYS[resource]]}"


@pytest.mark.parametrize("kind", TYPES, ids=lambda kind: kind.__name__)
def test_whatever_is_recorded_can_be_sent(kind: Any) -> None:
    assert list(never_sent(kind, TYPES[kind]())) == []


def never_sent(kind: Any, schema: Schema) -> Iterator[str]:
    """The fields of a recorded thing and of its parts that no body can hold."""
    hints = get_type_hints(kind)
    for field in dataclasses.fields(kind):
        if field.name in KEPT_BY_US:
            continue
        sent = schema.load_fields.get(field.name)
        if sent is None:
            yield f"{kind.__name__}.{field.name}"
        elif inner := part_of(sent):
            (part,) = (each for each in get_args(hints[field.name]) if dataclasses.is_dataclass(each))
            yield from never_sent(part, inner)


@pytest.fixture(params=SCHEMAS)
def resource(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def at(resource: str, body: dict[str, Any]) -> str:
    return f"/v1/{resource}/{body[KEYS[resource]]}"


def made(shop: Shop, resource: str, **changes: Any) -> dict[str, Any]:
    """Post the resource with every field; what was sent."""
    stock(shop, resource)
    body = body_of(resource) | changes
    if resource == "units":
        body["tag"] = "GU-0009"
    shop.post(f"/v1/{resource}", body)
    return body


def test_what_is_posted_is_read_back(shop: Shop, resource: str) -> None:
    body = made(shop, resource)
    items = shop.walk(f"/v1/{resource}" + ("?retired=true" if resource == "units" else ""))
    (listed,) = [item for item in items if item[KEYS[resource]] == body[KEYS[resource]]]

    assert list(lost(body, shop.get(at(resource, body)), SCHEMAS[resource])) == []
    assert list(lost(body, listed, SCHEMAS[resource])) == []


def test_what_is_changed_is_read_back(shop: Shop, resource: str) -> None:
    stock(shop, resource)
    body = body_of(resource) | ({"tag": "GU-0009"} if resource == "units" else {})
    shop.post(f"/v1/{resource}", least(resource, body))
    fixed = {KEYS[resource], "unit"}
    changes = {name: value for name, value in body.items() if name not in fixed}
    why = {"why": "x"} if resource == "visits" else {}
    shop.patch(at(resource, body), changes | why, 1)

    assert list(lost(body, shop.get(at(resource, body)), SCHEMAS[resource])) == []


def test_a_correction_keeps_every_field_of_the_former_text(shop: Shop) -> None:
    body = made(shop, "visits")
    shop.patch(f"/v1/visits/{ID}", {"work": None, "why": "x"}, 1)
    former = shop.get(f"/v1/visits/{ID}")["corrections"][0]["former"]

    assert list(lost({n: v for n, v in body.items() if v is not None}, former, SCHEMAS["visits"])) == []


def test_the_log_before_a_correction_is_the_log_as_it_was(shop: Shop) -> None:
    made(shop, "visits")
    with shop.book.reading() as store:
        before = log_of(store)
    shop.now = shop.now.replace(hour=22)
    changes = {name: None for name, field in VisitCorrectionSchema().load_fields.items() if field.allow_none}
    shop.patch(f"/v1/visits/{ID}", changes | {"readings": [], "why": "x"}, 1)
    with shop.book.reading() as store:
        after = log_of(store)

    assert after.all_visits != before.all_visits
    assert after.known_at(before.all_visits[0].posted_at).all_visits == before.all_visits


def log_of(store: Any) -> Any:
    place = store.units.place("GU-0007")
    return store.unit_logs.get(place.id, place.log_version)


def test_a_visit_by_others_keeps_its_fields(shop: Shop) -> None:
    body = made(shop, "visits", **BY_OTHERS)

    assert list(lost(body, shop.get(f"/v1/visits/{ID}"), SCHEMAS["visits"])) == []


def test_what_is_posted_is_exported_and_imported(shop: Shop, resource: str, tmp_path: Path) -> None:
    body = made(shop, resource)
    lines = shop.ask("GET", "/v1/exports").data
    with shop_at(f"sqlite:///{tmp_path}/other.db", tmp_path) as other:
        sent = {"Authorization": f"Bearer {other.tokens['owner']}"}
        kind = "application/x-ndjson"
        taken = other.app.test_client().post("/v1/imports", data=lines, content_type=kind, headers=sent)
        found = other.get(at(resource, body))

    assert taken.status_code == 201, taken.text
    assert list(lost(body, found, SCHEMAS[resource])) == []


def test_what_is_posted_is_in_the_audit_trail(shop: Shop, resource: str) -> None:
    body = made(shop, resource)
    entry = shop.get(f"/v1/audit?key={body[KEYS[resource]]}")["items"][0]
    after = entry["after"] if isinstance(entry["after"], dict) else json.loads(entry["after"])

    assert list(lost({n: v for n, v in body.items() if v is not None}, after, SCHEMAS[resource])) == []


@pytest.mark.parametrize("path", SETTINGS)
def test_what_is_set_for_a_task_is_read_back_and_exported(shop: Shop, path: str) -> None:
    shop.unit()
    body = filled(TaskSchema(), {"interval": "4 months", "shortest": "2 months", "longest": "8 months"})
    shop.patch(f"/v1/{path}", body, shop.get(f"/v1/{path}")["version"])
    lines = map(orjson.loads, shop.ask("GET", "/v1/exports").data.splitlines())
    (exported,) = [line for line in lines if line["record"] == SETTINGS[path]]

    assert list(lost(body, shop.get(f"/v1/{path}"), TaskSchema())) == []
    assert list(lost(body, exported, TaskSchema())) == []
