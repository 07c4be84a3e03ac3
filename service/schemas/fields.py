"""The fields of JSON bodies: quantities, instants, days, codes and choices."""

import re
from collections.abc import Callable, Sequence
from typing import Any
from uuid import UUID

from marshmallow import Schema, ValidationError, fields, missing, validate

from service.domain.instants import parse_day, parse_instant, zone
from service.domain.maintenance.tasks import parse_interval
from service.domain.quantities import UNITS_BY_DIMENSION, Quantity, parse_quantity

CODE_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$"
CODE = re.compile(CODE_PATTERN)
DAY_SCHEMA = {"type": "string", "format": "date", "examples": ["2026-06-09"]}
INSTANT_SCHEMA = {
    "type": "string",
    "format": "date-time",
    "description": "RFC 3339 with offset",
    "examples": ["2026-06-09T13:05:00-06:00"],
}

INTERVAL_SCHEMA = {"type": "string", "examples": ["90 days", "6 months"]}
CODE_SCHEMA = {"type": "string", "pattern": CODE_PATTERN}
ZONE_SCHEMA = {"type": "string", "examples": ["America/Denver"]}
UUID_SCHEMA = {"type": "string", "format": "uuid"}


class Parsed(fields.Field[Any]):
    """A field read by one plain function; the function's ValueError becomes the field's error."""

    json_schema: dict[str, Any]
    read: Callable[[Any], Any]

    def deserialize(self, value: Any, attr: str | None = None, data: Any = None, **kwargs: Any) -> Any:
        """As every field does, but straight to the function where there is a value: visits hold hundreds of values."""
        if value is None or value is missing:
            return super().deserialize(value, attr, data, **kwargs)
        return self._deserialize(value, attr, data)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:  # noqa: ARG002
        try:
            return self.read(value)
        except ValueError as refusal:
            raise ValidationError(str(refusal)) from refusal


class Day(Parsed):
    """A calendar date at the site, YYYY-MM-DD."""

    read = staticmethod(parse_day)
    json_schema = DAY_SCHEMA


class Instant(Parsed):
    """An instant, RFC 3339 with offset."""

    read = staticmethod(parse_instant)
    json_schema = INSTANT_SCHEMA


class IntervalText(Parsed):
    """A span of calendar time, such as "6 months"."""

    read = staticmethod(parse_interval)
    json_schema = INTERVAL_SCHEMA


def parse_code(value: Any) -> str:
    """A natural key that can be typed into a path."""
    if isinstance(value, str) and CODE.fullmatch(value):
        return value
    raise ValueError("a code is 1 to 64 letters, digits, dots, dashes or underscores, a letter or digit first")


class Code(Parsed):
    """A natural key."""

    read = staticmethod(parse_code)
    json_schema = CODE_SCHEMA


def parse_zone(value: Any) -> str:
    """An IANA time zone that this machine knows."""
    if not isinstance(value, str):
        raise ValueError(f"{value!r} is not the name of a time zone; write for example America/Denver")
    zone(value)
    return value


class TimeZone(Parsed):
    """An IANA time zone."""

    read = staticmethod(parse_zone)
    json_schema = ZONE_SCHEMA


def parse_uuid(value: Any) -> str:
    """A UUID in its usual form, lower case."""
    text = str(value).lower()
    try:
        if str(UUID(text)) == text:
            return text
    except ValueError:
        pass
    raise ValueError("a visit's id is a UUID made by the client, such as 0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77")


class VisitId(Parsed):
    """The visit's own UUID."""

    read = staticmethod(parse_uuid)
    json_schema = UUID_SCHEMA


class Measure(Parsed):
    """A number with its unit: "28 degF" or {"value": 28, "unit": "degF"}; a bare number is refused."""

    def __init__(self, *dimensions: str, low: float | None = None, high: str | None = None, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.dimensions = dimensions
        self.low = low
        self.high = high
        units = sorted({unit for dimension in dimensions for unit in UNITS_BY_DIMENSION[dimension]})
        self.json_schema = {
            "description": "number and unit; units: " + ", ".join(units),
            "anyOf": [
                {"type": "string", "examples": [f"1 {units[0]}"]},
                {
                    "type": "object",
                    "properties": {
                        "value": {"type": "number"},
                        "unit": {"enum": units},
                        "entered": {"type": "string"},
                    },
                    "required": ["value", "unit"],
                    "additionalProperties": False,
                },
            ],
        }

    def dimensions_for(self, data: Any) -> tuple[str, ...]:  # noqa: ARG002 - a subclass looks beside the field
        """The dimensions in which this value can be given."""
        return self.dimensions

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Quantity:  # noqa: ARG002
        try:
            quantity = parse_quantity(value, *self.dimensions_for(data))
        except ValueError as refusal:
            raise ValidationError(str(refusal)) from refusal
        if self.low is not None and quantity.value < self.low:
            raise ValidationError(f"{quantity.entered} is below the lowest sensible value, {self.low:g} in SI units")
        if self.high is not None and quantity.value > parse_quantity(self.high, *self.dimensions).value:
            raise ValidationError(f"{quantity.entered} is above the highest sensible value, {self.high}")
        return quantity


class Choice(Parsed):
    """One value of a list; the error for a wrong one gives the list."""

    def __init__(self, choices: Sequence[str], **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.choices = frozenset(choices)
        self.refusal = "one of: " + ", ".join(choices)
        self.json_schema = {"type": "string", "enum": list(choices)}

    def read(self, value: Any) -> str:
        """The value itself."""
        if isinstance(value, str) and value in self.choices:
            return value
        raise ValueError(self.refusal)


class Parts(fields.List[Any]):
    """A list of whole parts, in a PATCH too. Good parts are read once; a faulty list again, to report every fault."""

    def __init__(self, part: type[Schema], most: int) -> None:
        super().__init__(fields.Nested(part), validate=validate.Length(max=most))
        self.readers = part().load_fields
        self.needed = frozenset(name for name, field in self.readers.items() if field.required)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> list[Any]:
        try:
            return [self._part(item) for item in value]
        except (ValidationError, KeyError, AttributeError, TypeError):
            return super()._deserialize(value, attr, data, **{**kwargs, "partial": False})

    def _part(self, item: dict[str, Any]) -> dict[str, Any]:
        part = {name: self.readers[name].deserialize(value, name, item) for name, value in item.items()}
        if not self.needed <= part.keys():
            raise KeyError(self.needed - part.keys())
        return part


class Whole(fields.Nested):
    """A part that is given whole, in a PATCH too."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, partial: Any = None, **kwargs: Any) -> Any:  # noqa: ARG002
        return super()._deserialize(value, attr, data, partial=False, **kwargs)


class Number(fields.Float):
    """A number as in JSON; text is refused."""

    def _validated(self, value: Any) -> float:
        if isinstance(value, str):
            raise self.make_error("invalid", input=value)
        return super()._validated(value)


class Flag(fields.Boolean):
    """True or false as in JSON; texts and numbers are refused."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> bool:  # noqa: ARG002
        if isinstance(value, bool):
            return value
        raise self.make_error("invalid", input=value)


def line(longest: int = 200, *, shortest: int = 1, **kwargs: Any) -> fields.String:
    """Free text up to a length."""
    return fields.String(validate=validate.Length(shortest, longest), **kwargs)


def version() -> fields.Integer:
    """The version that the ETag shows; goes up with each change."""
    return fields.Integer(dump_only=True)
