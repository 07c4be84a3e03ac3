"""Frozen dataclasses from plain mappings and back, so that each noun is described once."""

from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

from service.domain.quantities import Quantity

Made = TypeVar("Made")
Leaf = Callable[[Any], Any]


@cache
def shape(cls: type[Any]) -> dict[str, tuple[type[Any] | None, bool]]:
    """For each field: the dataclass it holds (or None for a plain value), and whether it holds a tuple of them."""
    found: dict[str, tuple[type[Any] | None, bool]] = {}
    for name, hint in get_type_hints(cls).items():
        choices = [hint, *get_args(hint)]
        inner = next((kind for kind in choices if isinstance(kind, type) and parts_of(kind)), None)
        found[name] = (inner, get_origin(hint) is tuple)
    return found


@cache
def parts_of(kind: type[Any]) -> tuple[str, ...] | None:
    """The fields of a type whose values are taken apart; None for a leaf, as a quantity is one."""
    return tuple(field.name for field in fields(kind)) if is_dataclass(kind) and kind is not Quantity else None


def build(cls: type[Made], plain: Mapping[str, Any], leaf: Leaf = lambda value: value) -> Made:
    """Make `cls` from a mapping whose leaves are turned into values by `leaf`."""
    shapes = shape(cls)  # type: ignore[arg-type]  # any class is hashable
    made: dict[str, Any] = {}
    for name, value in plain.items():
        inner, many = shapes[name]
        if value is None:
            made[name] = () if many else None
        elif many:
            made[name] = tuple(build(inner, part, leaf) if inner else leaf(part) for part in value)
        else:
            made[name] = build(inner, value, leaf) if inner else leaf(value)
    return cls(**made)


def take_apart(value: Any, leaf: Leaf) -> Any:
    """The inverse of `build`: nested dataclasses become dicts, tuples lists, all else goes through `leaf`."""
    kind = type(value)
    if kind is str or kind is bool or kind is int:
        return value
    if kind is tuple:
        return [take_apart(part, leaf) for part in value]
    names = parts_of(kind)  # type: ignore[arg-type]  # any class is hashable
    if names is None:
        return leaf(value)
    return {name: take_apart(part, leaf) for name in names if (part := getattr(value, name)) is not None}
