"""Reads a JSON document by its schema: types strictly, the length of a list before its parts, only so many faults.

The schemas are Marshmallow's, and so are the leaves. The walk through objects and lists is here, because that of
Marshmallow takes any iterable for a list, reads every part of a list of any length, and keeps an exception a fault.
"""

from collections.abc import Callable, Mapping
from functools import cache, partial
from typing import Any, Protocol, TypeAlias

from marshmallow import Schema, ValidationError, fields, missing, validate

from service.domain.errors import MOST_FAULTS, Fault, Invalid
from service.schemas.fields import Choice, Parsed, Parts, Whole
from service.schemas.strict_json import LONGEST_STEP, MOST_COUNTED
from service.schemas.suggestions import did_you_mean

MISSING = "Missing data for required field."
UNKNOWN = "Unknown field."
NULL = "Field may not be null."
NO_LIST = "Not a valid list."
NO_OBJECT = "Invalid input type."
# A linked list, (path of the container, name or index): a whole path is written only for a fault.
Path: TypeAlias = "tuple[Path, str | int] | None"


Meant: TypeAlias = Callable[[], str]


def nobody_knows() -> str:
    """No suggestion."""
    return ""


class TooMany(Exception):
    """So many faults that reading on is of no use."""


class Faults:
    """The faults of one document: the first are kept, the next are counted, then reading stops."""

    def __init__(self) -> None:
        self.kept: list[Fault] = []
        self.more = 0

    def add(self, path: Path, value: Any, message: str, meant: Meant = nobody_knows) -> None:
        """Keep or count one fault, one that is kept with what was `meant`; TooMany beyond what is counted."""
        if len(self.kept) < MOST_FAULTS:
            self.kept.append(Fault(place(path), value, message + meant()))
            return
        self.more += 1
        if len(self.kept) + self.more >= MOST_COUNTED:
            raise TooMany


class Reader(Protocol):
    """Reads one value; what it returns after a fault is not used."""

    def read(self, value: Any, beside: Any, path: Path, faults: Faults) -> Any:
        """The value; `beside` is the object or list that holds it."""


def read(schema: Schema, document: Any) -> dict[str, Any]:
    """The document as the schema's fields read it; Invalid with its faults."""
    faults = Faults()
    try:
        data: dict[str, Any] = reader_of(schema).read(document, None, None, faults)
    except TooMany:
        raise Invalid(faults.kept, more=faults.more, counted_all=False) from None
    if faults.kept:
        raise Invalid(faults.kept, more=faults.more)
    return data


@cache
def reader_of(schema: Schema) -> "ObjectReader":
    """The reader of a schema, made once."""
    return ObjectReader(schema, None, nullable=False)


def place(path: Path) -> str:
    """The path as text: "readings.0.value"; "body" is the whole document.

    >>> place((((None, "readings"), 0), "value"))
    'readings.0.value'
    """
    steps = []
    while path is not None:
        path, name = path
        steps.append(str(name)[:LONGEST_STEP])
    return ".".join(reversed(steps)) or "body"


class LeafReader:
    """A value without parts."""

    def __init__(self, field: fields.Field[Any]) -> None:
        self.deserialize = field.deserialize
        self.parse = _function_of(field)
        self.choices = field.choices if isinstance(field, Choice) else frozenset()

    def read(self, value: Any, beside: Any, path: Path, faults: Faults) -> Any:
        """What the field makes of it; a choice is the text itself."""
        if type(value) is str and value in self.choices:
            return value
        try:
            if self.parse is not None and value is not None:
                return self.parse(value)
            return self.deserialize(value, None, beside)
        except (ValueError, ValidationError) as refusal:
            messages = refusal.messages if isinstance(refusal, ValidationError) else [refusal]
            for message in messages:
                faults.add(path, value, str(message), partial(did_you_mean, value, self.choices))
            return None


class ObjectReader:
    """An object with the fields of a schema; with `partial` None the schema itself says which are required."""

    def __init__(self, schema: Schema, partial: bool | None, *, nullable: bool) -> None:
        optional = schema.partial or partial
        whole = True if optional is True else None
        left_out = schema.load_fields.keys() if optional is True else set(optional or ())
        self.nullable = nullable
        self.parts = {name: _reader(field, whole) for name, field in schema.load_fields.items()}
        expected = {name: field for name, field in schema.load_fields.items() if name not in left_out}
        self.needed = tuple(name for name, field in expected.items() if field.required)
        self.defaults = {n: field.load_default for n, field in expected.items() if field.load_default is not missing}

    def read(self, value: Any, _beside: Any, path: Path, faults: Faults) -> Any:
        """The object's fields that are given, and the defaults of others."""
        if type(value) is not dict:
            return _refused(self.nullable, NO_OBJECT, value, path, faults)
        made, parts = dict(self.defaults), self.parts
        for name, given in value.items():
            part = parts.get(name)
            if part is None:
                faults.add((path, name), given, UNKNOWN, partial(did_you_mean, name, parts.keys()))
            else:
                made[name] = part.read(given, value, (path, name), faults)
        for name in self.needed:
            if name not in value:
                faults.add((path, name), None, MISSING)
        return made


class ListReader:
    """A list; its length is checked before its parts."""

    def __init__(self, field: "fields.List[Any]", partial: bool | None) -> None:
        self.nullable = field.allow_none
        self.length = _length_of(field)
        self.part = _reader(field.inner, partial)

    def read(self, value: Any, _beside: Any, path: Path, faults: Faults) -> Any:
        """The list of what its parts are read as."""
        if type(value) is not list:
            return _refused(self.nullable, NO_LIST, value, path, faults)
        if not _fits(self.length, value, path, faults):
            return None
        read = self.part.read
        return [read(part, value, (path, n), faults) for n, part in enumerate(value)]


class TableReader:
    """An object with any names; its size is checked before its values."""

    def __init__(self, field: fields.Dict) -> None:
        self.nullable = field.allow_none
        self.length = _length_of(field)
        self.part = _reader(field.value_field, None) if field.value_field else None

    def read(self, value: Any, _beside: Any, path: Path, faults: Faults) -> Any:
        """The object with its values read."""
        if type(value) is not dict:
            return _refused(self.nullable, NO_OBJECT, value, path, faults)
        if not _fits(self.length, value, path, faults) or self.part is None:
            return value
        return {name: self.part.read(given, value, (path, name), faults) for name, given in value.items()}


def _reader(field: fields.Field[Any], partial: bool | None) -> Reader:
    if isinstance(field, Parts | Whole):
        partial = False
    if isinstance(field, fields.Nested):
        return ObjectReader(field.schema, partial, nullable=field.allow_none)
    if isinstance(field, fields.List):
        return ListReader(field, partial)
    return TableReader(field) if isinstance(field, fields.Dict) else LeafReader(field)


def _function_of(field: fields.Field[Any]) -> Callable[[Any], Any] | None:
    """The plain function that reads a field's values, where it is nothing else."""
    if isinstance(field, Parsed) and type(field)._deserialize is Parsed._deserialize:
        return field.read
    return None


def _length_of(field: fields.Field[Any]) -> validate.Length:
    match field.validators:
        case [validate.Length(max=int()) as length]:
            return length
    raise TypeError(f"{field.name} needs a largest length, so that a refusal is bounded")


def _refused(nullable: bool, rule: str, value: Any, path: Path, faults: Faults) -> None:
    if value is not None:
        faults.add(path, value, rule)
    elif not nullable:
        faults.add(path, value, NULL if path else NO_OBJECT)


def _fits(length: validate.Length, value: Mapping[str, Any] | list[Any], path: Path, faults: Faults) -> bool:
    try:
        length(value)
    except ValidationError as refusal:
        faults.add(path, value, str(refusal.messages[0]))
        return False
    return True
