"""Every schema that reads a document from outside, a valid document of each, and all its fields."""

from collections.abc import Iterator
from typing import Any

from marshmallow import Schema, fields, validate

from service.app import RESOURCES
from service.domain.bench.calculations import CALCULATIONS
from service.schemas.bench_needs import NEEDS
from service.schemas.fields import (
    Choice,
    Clock,
    Code,
    Count,
    Day,
    Flag,
    Instant,
    IntervalText,
    Measure,
    Number,
    SiteTime,
    TimeZone,
    VisitId,
)
from service.schemas.imprecise_days import ImpreciseDay, ReportedDay
from service.schemas.photos import Digest
from service.schemas.records import SCHEMAS
from service.schemas.visits import ReadValue

OPERATIONS = [each for routes in RESOURCES for each in routes.operations if each.body is not None]
BODIES: dict[str, Schema] = {
    **{f"{each.method} {each.path}": each.body for each in OPERATIONS},
    **{f"line {kind}": schema for kind, schema in SCHEMAS.items()},
}
LEAVES: dict[type[Any], Any] = {
    Clock: "08:30", Code: "x1", Day: "2026-03-14", Instant: "2026-03-14T12:00:00Z", IntervalText: "6 months",
    Flag: True, ImpreciseDay: "2025-10", ReportedDay: "2025-10", SiteTime: "2026-03-14T12:00",
    TimeZone: "America/Denver", VisitId: "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77", ReadValue: "18 Brix",
    Digest: "0" * 64,
}  # fmt: skip
CALCULATED = {f"POST /v1/calculations/{each.name}": each for each in CALCULATIONS}
Path = tuple[str | int, ...]


def whole(name: str) -> dict[str, Any]:
    """A valid document with every field of a body, save those that exclude each other."""
    document = sample(BODIES[name])
    if name not in CALCULATED:
        return document
    example = CALCULATED[name].example
    choices = NEEDS.get(CALCULATED[name].inputs, {}).get("anyOf", ())
    excluded = {field for choice in choices for field in choice.get("properties", ())} - example.keys()
    return {field: value for field, value in {**document, **example}.items() if field not in excluded}


def sample(schema: Schema) -> dict[str, Any]:
    """A document with every field of the schema."""
    document = {name: sample_of(field) for name, field in schema.load_fields.items()}
    if {"quantity", "when"} <= document.keys():  # a reading, of what is in samples
        document["quantity"] = "glycol_strength"
    return document


def sample_of(field: Any) -> Any:
    """A value that the field accepts."""
    if isinstance(field, fields.Nested):
        return sample(field.schema)
    if isinstance(field, fields.List):
        (length,) = field.validators
        return [sample_of(field.inner)] * max(length.min or 0, 1)
    if isinstance(field, fields.Dict):
        return {"a": sample_of(field.value_field)} if field.value_field else {"a": 1}
    return _leaf(field)


def _leaf(field: Any) -> Any:
    if isinstance(field, Choice):
        return field.json_schema["enum"][0]
    if isinstance(field, Count):
        return next(each.choices[0] if isinstance(each, validate.OneOf) else each.min for each in field.validators)
    if isinstance(field, Measure) and type(field) is not ReadValue:
        return field.high or field.spans[0][2]
    if isinstance(field, Number):
        ranges = [each for each in field.validators if isinstance(each, validate.Range)]
        return max([min([1, *(each.max for each in ranges)]), *(each.min or 0 for each in ranges)])
    if isinstance(field, fields.String):
        return next((each.choices[0] for each in field.validators if isinstance(each, validate.OneOf)), "x")
    return LEAVES[type(field)]


def places(schema: Schema, path: Path = ()) -> Iterator[tuple[Path, Any]]:
    """Every field with its path, those of parts as well."""
    for name, field in schema.load_fields.items():
        here: Path = (*path, name)
        yield here, field
        yield from _inside(here, field)


def _inside(path: Path, field: Any) -> Iterator[tuple[Path, Any]]:
    if isinstance(field, fields.List):
        yield (*path, 0), field.inner
        yield from _inside((*path, 0), field.inner)
    if isinstance(field, fields.Nested):
        yield from places(field.schema, path)
    if isinstance(field, fields.Dict):
        yield (*path, "a"), field.value_field


def at(document: Any, path: Path, value: Any) -> Any:
    """A copy of the document with another value at the path."""
    if not path:
        return value
    copied = list(document) if isinstance(document, list) else dict(document)
    inner = document.get(path[0]) if isinstance(document, dict) else document[path[0]]
    copied[path[0]] = at(inner, path[1:], value)  # type: ignore[index]
    return copied
