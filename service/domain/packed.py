"""Frozen dataclasses as JSON lists by position: for what is kept to save work, and can be worked out anew.

Reading is what has to be quick: a field is set in its slot, and one whose JSON value is the value is not looked at.
There are no names in the text, so another layout of a class needs another text. The record itself is kept with names:
see `plain`.
"""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from functools import cache, lru_cache
from types import NoneType, UnionType
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

import orjson

from service.domain.messages import Message
from service.domain.quantities import Quantity

Made = TypeVar("Made")
Read = Callable[[Any], Any]
OPTIONS = orjson.OPT_PASSTHROUGH_SUBCLASS | orjson.OPT_PASSTHROUGH_DATACLASS
day = lru_cache(maxsize=4096)(date.fromisoformat)
instant = lru_cache(maxsize=4096)(datetime.fromisoformat)


def packed(value: Any) -> str:
    """The text of a dataclass."""
    return orjson.dumps(value, default=_plain, option=OPTIONS).decode()


def unpacked(cls: type[Made], text: str) -> Made:
    """The dataclass of a text that `packed` made."""
    read: Read = _record(cls)  # type: ignore[arg-type]  # any class is hashable
    made: Made = read(orjson.loads(text))
    return made


class _Packed(Message):
    """A message of which what it is made of is read when it is asked for: few are worded in another language."""

    __slots__ = ("_made_of",)
    _made_of: str

    def __new__(cls, text: str, made_of: str) -> "_Packed":
        made = str.__new__(cls, text)
        made._made_of = made_of
        return made

    def __reduce__(self) -> tuple[Any, ...]:
        return _Packed, (str(self), self._made_of)

    @property
    def ids(self) -> tuple[str, ...]:  # type: ignore[override]
        return tuple(orjson.loads(self._made_of)[0])

    @property
    def values(self) -> Mapping[str, Any]:  # type: ignore[override]
        return {name: _part(each) for name, each in orjson.loads(self._made_of)[1].items()}

    @property
    def context(self) -> str:  # type: ignore[override]
        made: str = orjson.loads(self._made_of)[2]
        return made


def _plain(value: Any) -> Any:
    if isinstance(value, Message):
        return [str(value), _made_of(value)]
    if is_dataclass(value):
        return [getattr(value, each.name) for each in fields(value)]
    if isinstance(value, tuple | frozenset):
        return list(value)
    if isinstance(value, Counter):
        return dict(value)
    raise TypeError(f"{value!r} cannot be packed")


def _made_of(message: Message) -> str:
    return orjson.dumps(_parts(message), option=OPTIONS).decode()


def _parts(message: Message) -> list[Any]:
    return [message.ids, {name: _marked(each) for name, each in message.values.items()}, message.context]


def _marked(value: Any) -> Any:
    """A value of a message, marked where the JSON value alone does not say what it is."""
    if isinstance(value, Message):
        return {"message": [str(value), *_parts(value)]}
    if isinstance(value, date):
        return {type(value).__name__: value}
    return [_marked(each) for each in value] if isinstance(value, tuple) else value


def _part(value: Any) -> Any:
    """A value of a message from its marked form."""
    if isinstance(value, dict):
        ((kind, made),) = value.items()
        if kind != "message":
            return day(made) if kind == "date" else instant(made)
        text, ids, values, context = made
        return Message(text, tuple(ids), {name: _part(each) for name, each in values.items()}, context)
    return tuple(map(_part, value)) if isinstance(value, list) else value


def _text(value: Any) -> str:
    """A text as it is, or a message."""
    return value if type(value) is str else _Packed(*value)


@cache
def _reader(kind: Any) -> Read | None:
    """What reads a value of a type from its JSON value; None where that is the value."""
    origin, arguments = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        (inner,) = (each for each in arguments if each is not NoneType)
        return _optional(_reader(inner))
    if origin is tuple:
        return _tuple(arguments)
    if kind in LEAVES or origin in LEAVES:
        return LEAVES[kind if kind in LEAVES else origin]
    return _record(kind)


LEAVES: Mapping[Any, Read | None] = {
    **dict.fromkeys((bool, int, float, Literal, Mapping)),
    str: _text,
    date: day,
    datetime: instant,
    Quantity: lambda parts: Quantity(*parts),
    frozenset: frozenset,
    Counter: Counter,
}


def _optional(read: Read | None) -> Read | None:
    return None if read is None else lambda value: None if value is None else read(value)


def _tuple(kinds: tuple[Any, ...]) -> Read:
    if kinds[1:] == (...,):
        read = _reader(kinds[0])
        return tuple if read is None else lambda parts: tuple([read(part) for part in parts])
    reads = [_reader(each) or _same for each in kinds]
    return lambda parts: tuple(read(part) for read, part in zip(reads, parts, strict=True))


def _same(value: Any) -> Any:
    return value


@cache
def _record(cls: Any) -> Read:
    """A dataclass with slots, or a named tuple."""
    names = cls._fields if issubclass(cls, tuple) else [each.name for each in fields(cls)]
    hints = get_type_hints(cls)
    reads = [(place, read) for place, name in enumerate(names) if (read := _reader(hints[name])) is not None]
    setters = [] if issubclass(cls, tuple) else [getattr(cls, name).__set__ for name in names]

    def made(parts: list[Any]) -> Any:
        for place, read in reads:
            parts[place] = read(parts[place])
        if not setters:
            return cls(*parts)
        record = object.__new__(cls)
        for put, part in zip(setters, parts, strict=True):
            put(record, part)
        return record

    return made
