"""A body with a value for every field that a schema takes, and which of these values an answer lacks."""

from collections.abc import Iterator, Mapping
from typing import Any

from marshmallow import Schema, ValidationError, fields, validate

from service.schemas.fields import (
    Choice,
    Clock,
    Code,
    Day,
    Flag,
    Instant,
    IntervalText,
    Measure,
    SiteTime,
    TimeZone,
    VisitId,
)
from service.schemas.imprecise_days import ImpreciseDay, ReportedDay

Fixed = Mapping[str, Any]
NUMBERS = ("1", "2", "11", "12", "101", "102")
TEXTS: dict[type[Any], tuple[Any, Any]] = {
    Day: ("2026-05-01", "2026-05-02"),
    ImpreciseDay: ("2026-05", "2025"),
    ReportedDay: ("2026-04", "2025-08-01/2026-04-15"),
    **dict.fromkeys((Instant, SiteTime), ("2026-05-01T18:00:00Z", "2026-05-01T18:30:00Z")),
    IntervalText: ("90 days", "91 days"),
    Clock: ("08:00", "16:30"),
    TimeZone: ("America/Denver", "America/Chicago"),
    VisitId: ("0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77", "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b78"),
    Flag: (False, True),
}


def paths_of(schema: Schema, path: str = "") -> Iterator[str]:
    """Every field that the schema takes, fields of parts with the names of what they are in before them."""
    for name, field in schema.load_fields.items():
        inner = part_of(field)
        if inner is None:
            yield f"{path}{name}"
        else:
            yield from paths_of(inner, f"{path}{name}.")


def paths_in(body: Mapping[str, Any], path: str = "") -> set[str]:
    """The fields to which a body gives a value."""
    found: set[str] = set()
    for name, value in body.items():
        parts = [part for part in (value if isinstance(value, list) else [value]) if isinstance(part, Mapping)]
        found |= set().union(*(paths_in(part, f"{path}{name}.") for part in parts)) if parts else {f"{path}{name}"}
    return found


def hidden_of(schema: Schema, path: str = "") -> Iterator[str]:
    """Every field that the schema takes and never answers."""
    for name, field in schema.load_fields.items():
        if field.load_only:
            yield f"{path}{name}"
        if inner := part_of(field):
            yield from hidden_of(inner, f"{path}{name}.")


def part_of(field: Any) -> Schema | None:
    """The schema of a part, or of each part of a list."""
    one = field.inner if isinstance(field, fields.List) else field
    return one.schema if isinstance(one, fields.Nested) else None


def body_of(schema: Schema, fixed: Fixed, turn: int, path: str = "") -> dict[str, Any]:
    """A body with a value for every field, another one each turn (0 or 1).

    `fixed` names values that must be these: one, or a pair of one each turn; None leaves the field out.
    """
    body: dict[str, Any] = {}
    for name, field in schema.load_fields.items():
        where = f"{path}{name}"
        inner = part_of(field)
        if where in fixed:
            given = fixed[where]
            value = given[turn] if isinstance(given, tuple) else given
        elif inner is not None:
            value = body_of(inner, fixed, turn, f"{where}.")
        else:
            value = value_of(field.inner if isinstance(field, fields.List) else field, where, turn)
        if value is not None:
            body[name] = [value] if isinstance(field, fields.List) and not isinstance(value, list) else value
    return body


def value_of(field: Any, where: str, turn: int) -> Any:
    """A value that a leaf takes."""
    if type(field) in TEXTS:
        return TEXTS[type(field)][turn]
    if isinstance(field, Choice):
        choices = field.json_schema["enum"]
        return choices[-1 - turn] if len(choices) > 1 else choices[0]
    if isinstance(field, Measure):
        return measure(field, turn)
    if isinstance(field, Code):
        return f"{where.rpartition('.')[2]}-{turn}"
    if isinstance(field, fields.Number):
        (rule,) = field.validators
        return rule.choices[turn] if isinstance(rule, validate.OneOf) else rule.min + 1 + turn
    if isinstance(field, fields.String):
        return f"{where} {turn}"
    raise AssertionError(f"say here which value the field {where} takes: {field}")


def measure(field: Measure, turn: int) -> str:
    """A quantity within the field's limits."""
    (of_value,) = (each for name, each in field.components.items() if name.endswith("Value"))
    units = of_value["properties"]["unit"]["enum"]
    texts = ([f"{number} {unit}" for number in NUMBERS] for unit in units)
    fitting = ([text for text in of_unit if accepts(field, text)] for of_unit in texts)
    return next(found for found in fitting if len(found) > 1)[turn]


def accepts(field: Any, value: Any) -> bool:
    """Whether a field takes a value."""
    try:
        field.deserialize(value)
    except ValidationError:
        return False
    return True


def lost(schema: Schema, given: Mapping[str, Any], found: Any, path: str = "") -> list[str]:
    """Which given fields are not in what was found, or not with their value."""
    beside = found if isinstance(found, Mapping) else {}
    return [
        each
        for name, value in given.items()
        if not schema.load_fields[name].load_only
        for each in _lost(schema.load_fields[name], value, beside.get(name), beside, f"{path}{name}")
    ]


def _lost(field: Any, value: Any, found: Any, beside: Mapping[str, Any], path: str) -> Iterator[str]:
    if isinstance(value, list):
        parts = found if isinstance(found, list) else []
        if len(parts) != len(value):
            yield path
        for one, part in zip(value, parts, strict=False):
            yield from _lost(field.inner, one, part, beside, path)
    elif isinstance(field, fields.Nested):
        yield from lost(field.schema, value, found, f"{path}.")
    elif read(field, found, beside) != read(field, value, beside):
        yield path


def read(field: Any, value: Any, beside: Mapping[str, Any]) -> Any:
    """A leaf's value, however it is written; None for what is none of the field's."""
    try:
        return field.deserialize(value, None, beside)
    except ValidationError:
        return None
