"""Calculated results as JSON: the schema follows from the dataclass, figures are in the caller's units."""

from collections.abc import Mapping
from dataclasses import fields as fields_of
from datetime import date, datetime
from functools import cache, partial
from types import MappingProxyType
from typing import Any, ClassVar, get_args, get_type_hints

from marshmallow import Schema, fields

from service.domain.bench.figures import show_figure
from service.domain.plain import names_of, to_plain
from service.domain.quantities import Quantity
from service.schemas.fields import Instant

FIGURE = {
    "type": "object",
    "properties": {
        "value": {"type": "number"},
        "unit": {"type": "string"},
        "entered": {"type": "string", "description": "as typed, where it was"},
    },
    "required": ["value", "unit"],
}


class Figure(fields.Field[Any]):
    """A calculated value with its unit."""

    components = MappingProxyType({"Figure": FIGURE})
    json_schema: ClassVar[dict[str, Any]] = {"$ref": "#/components/schemas/Figure"}


SIMPLE: dict[type[Any], type[fields.Field[Any]]] = {
    str: fields.String,
    bool: fields.Boolean,
    int: fields.Integer,
    float: fields.Float,
    datetime: Instant,
    date: fields.Date,
}


@cache
def results_schema(results: type[Any], name: str) -> type[Schema]:
    """The schema of results; optional fields can be null."""
    hints, made = get_type_hints(results), {}
    for field in fields_of(results):
        choices = get_args(hints[field.name]) or (hints[field.name],)
        more: dict[str, Any] = {
            "required": True,
            "allow_none": type(None) in choices,
            "metadata": {"description": field.metadata["description"]},
        }
        kind = choices[0]
        one = _result(kind, f"{name}{kind.__name__}", {} if Ellipsis in choices else more)
        made[field.name] = fields.List(one, **more) if Ellipsis in choices else one
    return documented(name, made, results.__doc__)


def _result(kind: Any, name: str, more: dict[str, Any]) -> Any:
    if kind is Quantity:
        return Figure(**more)
    if names_of(kind):
        return fields.Nested(results_schema(kind, name), **more)
    return SIMPLE[kind](**more)


def documented(name: str, made: dict[str, Any], doc: str | None, more: Mapping[str, Any] | None = None) -> type[Schema]:
    """A schema of these fields, with its description and what else the API document says of it."""
    schema: type[Schema] = type(name, (Schema,), made | {"__doc__": doc, "more_json_schema": more or {}})
    return schema


def results_to_json(value: Any, system: str, zone: str = "UTC") -> Any:
    """Results as JSON: figures in the caller's units, instants by the clock of `zone`, null where there is none."""
    return to_plain(value, partial(show_figure, system=system), zone, nulls=True)
