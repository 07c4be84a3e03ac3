"""The fields of JSON bodies: quantities, instants, days, codes and choices."""

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from importlib import resources
from types import MappingProxyType
from typing import Any, ClassVar
from uuid import UUID

from marshmallow import Schema, ValidationError, fields, missing, validate

from service.domain.instants import parse_day, parse_instant, parse_site_time, zone
from service.domain.maintenance.tasks import parse_interval
from service.domain.quantities import Quantity, parse_quantity
from service.schemas.decimal_patterns import whole_numbers
from service.schemas.measures import components_of, limit_text, limits_text, measure_schema, name_of
from service.schemas.times import (
    COMING_DAY_SCHEMA,
    DAY_SCHEMA,
    INSTANT_SCHEMA,
    PAST_DAY_SCHEMA,
    PAST_SITE_TIME_SCHEMA,
    SHOWN_DAY_SCHEMA,
    SHOWN_INSTANT_SCHEMA,
    SITE_TIME_SCHEMA,
)

CODE_PATTERN = r"^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$"
TEXT_PATTERN = r"^[^\u0000]*$"
CODE = re.compile(CODE_PATTERN)
SLACK = 5e-6  # of a limit: an answer shows six digits, and what it shows must be accepted again
LONGEST = {"day": 3652, "week": 521, "month": 120, "year": 10}
INTERVALS = [
    f"{whole_numbers(1, most)} {unit}s?|P{whole_numbers(1, most)}{unit[0].upper()}" for unit, most in LONGEST.items()
]
INTERVAL_SCHEMA = {"type": "string", "pattern": f"^(?:{'|'.join(INTERVALS)})$", "examples": ["90 days", "6 months"]}
CLOCK_PATTERN = r"^(?:(?:[01][0-9]|2[0-3]):[0-5][0-9]|24:00)$"
CLOCK = re.compile(CLOCK_PATTERN)
CLOCK_SCHEMA = {"type": "string", "pattern": CLOCK_PATTERN, "examples": ["08:30"]}
CODE_SCHEMA = {"type": "string", "pattern": CODE_PATTERN}
ZONE_SCHEMA = {
    "type": "string",
    "enum": sorted(resources.files("tzdata").joinpath("zones").read_text(encoding="utf-8").split()),
    "examples": ["America/Denver"],
}
ZONE = {"$ref": "#/components/schemas/TimeZone"}  # the names fill some 600 lines
UUID_SCHEMA = {"type": "string", "format": "uuid"}


STAYS = {"stays": True}  # a field that a PATCH may repeat and not change


class Parsed(fields.Field[Any]):
    """A field read by one plain function; the function's ValueError becomes the field's error."""

    json_schema: dict[str, Any]
    components: Mapping[str, dict[str, Any]] = MappingProxyType({})  # of the API document, to which it refers
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
    """A calendar date at the site, YYYY-MM-DD.

    Of what was done (`past`) the use case refuses the future, of what is planned (`coming`) the past. What an answer
    calculates (`shown`) may be beyond the years that are accepted.
    """

    read = staticmethod(parse_day)

    def __init__(self, *, past: bool = False, coming: bool = False, shown: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        accepted = PAST_DAY_SCHEMA if past else COMING_DAY_SCHEMA if coming else DAY_SCHEMA
        self.json_schema = SHOWN_DAY_SCHEMA if shown else accepted


class Instant(Parsed):
    """An instant, RFC 3339 with offset. In an answer (`shown`) it has the offset of the site: perhaps another year."""

    read = staticmethod(parse_instant)

    def __init__(self, *, shown: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.json_schema = SHOWN_INSTANT_SCHEMA if shown else INSTANT_SCHEMA


class SiteTime(Parsed):
    """An instant, or a local time without offset, which the use case reads by the site's clock.

    Of a visit (`past`) the use case refuses the future and before 1970.
    """

    read = staticmethod(parse_site_time)

    def __init__(self, *, past: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        name, schema = ("PastSiteTime", PAST_SITE_TIME_SCHEMA) if past else ("SiteTime", SITE_TIME_SCHEMA)
        self.components = {name: schema}
        self.json_schema = {"$ref": f"#/components/schemas/{name}"}


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


def parse_clock(value: Any) -> str:
    """A time of day by the 24-hour clock, 24:00 the end of the day."""
    if isinstance(value, str) and CLOCK.fullmatch(value):
        return value
    raise ValueError(f"{value!r} is not a time of day; write hours and minutes, for example 08:30")


class Clock(Parsed):
    """A time of day, HH:MM."""

    read = staticmethod(parse_clock)
    json_schema = CLOCK_SCHEMA


class TimeZone(Parsed):
    """An IANA time zone."""

    read = staticmethod(parse_zone)
    components = MappingProxyType({"TimeZone": ZONE_SCHEMA})
    json_schema = ZONE


def parse_uuid(value: Any) -> str:
    """A UUID in its usual form, lower case."""
    text = str(value).lower()
    try:
        if str(UUID(text)) == text:
            return text
    except ValueError:
        pass
    raise ValueError("an id is a UUID made by the client, such as 0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77")


class VisitId(Parsed):
    """The visit's own UUID."""

    read = staticmethod(parse_uuid)
    json_schema = UUID_SCHEMA


class Measure(Parsed):
    """A number with its unit: "28 degF" or {"value": 28, "unit": "degF"}; a bare number is refused."""

    component = ""  # its name in the API document, where that is not made of the dimensions

    def __init__(self, *dimensions: str, low: float | None = None, high: str | None = None, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.dimensions = dimensions
        self.low, self.high = low, high
        self.lowest = -math.inf if low is None else low
        self.highest = math.inf if high is None else parse_quantity(high, *dimensions).value
        name = self.component or name_of(dimensions)
        self.components = components_of(name, dimensions)
        self.json_schema = {"$ref": f"#/components/schemas/{name}"}
        if low is not None and high is not None:
            spans = [(dimension, low, self.highest) for dimension in dimensions]
            self.json_schema = measure_schema(name, spans)
            described = [self.metadata.get("description"), limits_text(spans)]
            self.metadata = {**self.metadata, "description": "; ".join(filter(None, described))}

    def dimensions_for(self, data: Any) -> tuple[str, ...]:  # noqa: ARG002 - a subclass looks beside the field
        """The dimensions in which this value can be given."""
        return self.dimensions

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Quantity:  # noqa: ARG002
        try:
            quantity = parse_quantity(value, *self.dimensions_for(data))
        except ValueError as refusal:
            raise ValidationError(str(refusal)) from refusal
        if self.lowest <= quantity.value <= self.highest:
            return quantity
        within = min(max(quantity.value, self.lowest), self.highest)
        if abs(quantity.value - within) <= abs(within) * SLACK:
            return replace(quantity, value=within)
        if quantity.value < self.lowest:
            low = limit_text(quantity.dimension, self.lowest)
            raise ValidationError(f"{quantity.entered} is below the lowest sensible value, {low}")
        raise ValidationError(f"{quantity.entered} is above the highest sensible value, {self.high}")


class Choice(Parsed):
    """One value of a list; the error for a wrong one gives the list.

    `refused_later` are values that are read because what reads them refuses them with a reason of its own.
    """

    def __init__(self, choices: Sequence[str], refused_later: Sequence[str] = (), **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.choices = frozenset((*choices, *refused_later))
        self.refusal = f"one of: {', '.join(choices)}."
        self.json_schema = {"type": "string", "enum": list(choices)}

    def read(self, value: Any) -> str:
        """The value itself."""
        if isinstance(value, str) and value in self.choices:
            return value
        raise ValueError(self.refusal)


class Parts(fields.List[Any]):
    """A list of whole parts, in a PATCH too."""

    def __init__(self, part: type[Schema], most: int) -> None:
        super().__init__(fields.Nested(part), validate=validate.Length(max=most))


class Whole(fields.Nested):
    """A part that is given whole, in a PATCH too."""


class Number(fields.Float):
    """A number as in JSON; text is refused."""

    def _validated(self, value: Any) -> float:
        if isinstance(value, str):
            raise self.make_error("invalid", input=value)
        return super()._validated(value)


class Count(fields.Integer):
    """A whole number as in JSON, where 3.0 is one; text is refused."""

    def _validated(self, value: Any) -> int:
        whole = isinstance(value, int | float) and value == int(value)
        if isinstance(value, bool) or not whole:
            raise self.make_error("invalid", input=value)
        return int(value)


class Flag(fields.Boolean):
    """True or false as in JSON; texts and numbers are refused."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> bool:  # noqa: ARG002
        if isinstance(value, bool):
            return value
        raise self.make_error("invalid", input=value)


class Text(fields.String):
    """Text as JSON strings are read: without the NUL character."""

    json_schema: ClassVar[dict[str, Any]] = {"type": "string", "pattern": TEXT_PATTERN}


def line(longest: int = 200, *, shortest: int = 1, **kwargs: Any) -> fields.String:
    """Free text up to a length."""
    return Text(validate=validate.Length(shortest, longest), **kwargs)


def version() -> fields.Integer:
    """The version that the ETag shows; goes up with each change."""
    return fields.Integer(dump_only=True)
