"""Parts of a noun kept as JSON text; a quantity is [SI value, dimension, entered text]."""

from datetime import date
from functools import lru_cache
from typing import Any, TypeVar

import orjson

from service.domain.quantities import Quantity
from service.domain.record.structure import build, take_apart

Made = TypeVar("Made")
KEPT = 4096  # texts: what is read is frozen, and units are read again with every visit


def _write_leaf(value: Any) -> Any:
    if isinstance(value, Quantity):
        return [value.value, value.dimension, value.entered]
    return value.isoformat() if isinstance(value, date) else value


def _read_leaf(value: Any) -> Any:
    return Quantity(*value) if isinstance(value, list) else value


def write(value: Any) -> str | None:
    """JSON text of a dataclass or a tuple of them; None for none."""
    return None if value is None else orjson.dumps(take_apart(value, _write_leaf)).decode()


@lru_cache(maxsize=KEPT)
def read(cls: type[Made], text: str | None) -> Made | None:
    """One dataclass from its JSON text."""
    return None if text is None else build(cls, orjson.loads(text), _read_leaf)


@lru_cache(maxsize=KEPT)
def read_many(cls: type[Made], text: str | None) -> tuple[Made, ...]:
    """A tuple of dataclasses from its JSON text."""
    return () if text is None else tuple(build(cls, part, _read_leaf) for part in orjson.loads(text))


@lru_cache(maxsize=16384)
def day(text: str | None) -> date | None:
    """A day as the domain knows it; the days of a fleet are few, and are read over and over."""
    return None if text is None else date.fromisoformat(text)


@lru_cache(maxsize=16384)
def day_text(value: date | None) -> str | None:
    """A day as the tables keep it."""
    return None if value is None else value.isoformat()
