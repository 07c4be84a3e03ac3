"""The one way between frozen dataclasses and plain JSON values.

Days and instants are text in every form; a quantity has the form that the caller chooses: its text as entered, the
list that is stored, or a value in a system of units.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from functools import cache
from operator import attrgetter
from typing import Any, NamedTuple, TypeVar, get_args, get_origin, get_type_hints

from service.domain.instants import at_site, parse_day, parse_instant
from service.domain.quantities import Quantity
from service.domain.shared_texts import shared

Made = TypeVar("Made")
ShowQuantity = Callable[[Quantity], Any]
ReadQuantity = Callable[[str, Any, Mapping[str, Any]], Quantity]
entered: ShowQuantity = attrgetter("entered")
EMPTY: tuple[Any, ...] = (None, [], {})
ATOMS = frozenset({str, bool, int, float, type(None)})
READERS: dict[Any, Callable[[str], Any]] = {date: parse_day, datetime: parse_instant}


class Shape(NamedTuple):
    """What a field holds: the type of a leaf (None for a JSON value), or the dataclass of a record; `many`: a tuple."""

    leaf: Any
    record: type[Any] | None
    many: bool


@cache
def shape(cls: type[Any]) -> dict[str, Shape]:
    """The shape of each field."""
    found = {}
    for name, hint in get_type_hints(cls).items():
        kinds = [kind for kind in (hint, *get_args(hint)) if isinstance(kind, type)]
        leaf = next((kind for kind in kinds if kind in READERS or kind is Quantity), None)
        found[name] = Shape(leaf, next((kind for kind in kinds if names_of(kind)), None), get_origin(hint) is tuple)
    return found


@cache
def keys_of(kind: type[Any]) -> tuple[tuple[str, str], ...]:
    """Each field of a dataclass with its name in JSON, which differs for a Python keyword: `from_` is "from"."""
    return tuple((name, name.removesuffix("_")) for name in names_of(kind))  # type: ignore[arg-type]


@cache
def names_of(kind: type[Any]) -> tuple[str, ...]:
    """The fields of a dataclass; none for a leaf, as a quantity is one."""
    return tuple(field.name for field in fields(kind)) if is_dataclass(kind) and kind is not Quantity else ()


def stored(quantity: Quantity) -> list[Any]:
    """A quantity as the tables keep it within a text: SI value, dimension, text as entered."""
    return [quantity.value, quantity.dimension, quantity.entered]


def read_stored(_name: str, kept: Any, _beside: Mapping[str, Any]) -> Quantity:
    """The inverse of `stored`."""
    return Quantity(*kept)


def to_plain(value: Any, quantity: ShowQuantity = entered, zone: str = "UTC", *, nulls: bool = False) -> Any:
    """JSON values of a record: dicts, lists and leaves. Without `nulls` a field that is not known is left out.

    Instants are by the clock of `zone`, within a record that has a `time_zone` of its own by that.
    """
    return _plain(value, quantity, zone, nulls)


def _plain(value: Any, quantity: ShowQuantity, zone: str, nulls: bool) -> Any:
    kind: Any = type(value)
    if kind in ATOMS:
        return value
    if kind is tuple:
        return [_plain(part, quantity, zone, nulls) for part in value]
    if kind is Quantity:
        return quantity(value)
    if kind is datetime:
        return at_site(value, zone)
    if kind is date:
        return value.isoformat()
    names = names_of(kind)
    if not names:
        return value
    if "time_zone" in names:
        zone = value.time_zone
    return {
        key: part if type(part) is str else _plain(part, quantity, zone, nulls)
        for name, key in keys_of(kind)
        if (part := getattr(value, name)) is not None or nulls
    }


def as_entered(record: Any) -> dict[str, Any]:
    """A record as the body that the API takes: quantities in the text as typed, what is empty left out."""
    return {name: part for name, part in to_plain(record).items() if part not in EMPTY}


def from_plain(cls: type[Made], plain: Mapping[str, Any], quantity: ReadQuantity | None = None) -> Made:
    """The inverse of `to_plain`; a leaf that is read already stays. TypeError for a field that `cls` lacks.

    `quantity` reads one that is not: from the field's name, its value, and the mapping in which it stands.
    """
    made: dict[str, Any] = {}
    read_as = _read(cls)  # type: ignore[arg-type]  # any class is hashable
    for key, value in plain.items():
        how = read_as.get(key)
        if how is None:
            made[key] = shared(value) if type(value) is str else value
        elif type(value) is how.shape.leaf:
            made[how.name] = value
        else:
            made[how.name] = _made(how, value, quantity, plain)
    return cls(**made)


def _made(how: "_Read", value: Any, quantity: ReadQuantity | None, beside: Mapping[str, Any]) -> Any:
    """The value of a field that does not hold its JSON value as it is."""
    leaf, record, many = how.shape
    if value is None:
        return () if many else None
    if record is not None:
        return _records(record, value, quantity) if many else from_plain(record, value, quantity)
    if many:
        return _tuples(value)
    if leaf is Quantity and type(value) is not Quantity and quantity is not None:
        return quantity(how.name, value, beside)
    if type(value) is str:
        return READERS[leaf](value) if leaf in READERS else shared(value)
    return value


class _Read(NamedTuple):
    """A field by its name in the dataclass, and what it holds."""

    name: str
    shape: Shape


@cache
def _read(cls: type[Any]) -> dict[str, _Read]:
    """By the name in JSON and by its own, each field that has two names or does not hold its JSON value as it is."""
    found: dict[str, _Read] = {}
    for name, each in shape(cls).items():  # type: ignore[arg-type]  # any class is hashable
        key = name.removesuffix("_")
        if any(each) or key != name:
            found |= {name: _Read(name, each), key: _Read(name, each)}
    return found


def _records(cls: type[Any], plain: Iterable[Mapping[str, Any]], quantity: ReadQuantity | None) -> tuple[Any, ...]:
    return tuple(from_plain(cls, part, quantity) for part in plain)


def _tuples(value: Any) -> Any:
    return tuple(_tuples(part) for part in value) if isinstance(value, list | tuple) else value
