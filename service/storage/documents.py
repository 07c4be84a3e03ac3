"""Parts of a record kept as JSON text, and days as text."""

from datetime import date
from functools import lru_cache
from typing import Any, TypeVar

import orjson

from service.domain.plain import from_plain, read_stored, stored, to_plain

Made = TypeVar("Made")
KEPT = 4096  # texts: what is read is frozen, and units are read again with every visit


def write(value: Any) -> str | None:
    """JSON text of a dataclass or a tuple of them; None for none."""
    return None if value is None else orjson.dumps(to_plain(value, stored)).decode()


@lru_cache(maxsize=KEPT)
def read(cls: type[Made], text: str | None) -> Made | None:
    """One dataclass from its JSON text."""
    return None if text is None else from_plain(cls, orjson.loads(text), read_stored)


@lru_cache(maxsize=KEPT)
def read_many(cls: type[Made], text: str | None) -> tuple[Made, ...]:
    """A tuple of dataclasses from its JSON text."""
    return () if text is None else tuple(from_plain(cls, part, read_stored) for part in orjson.loads(text))


@lru_cache(maxsize=16384)
def day(text: str | None) -> date | None:
    """A day as the domain knows it; the days of a fleet are few, and are read over and over."""
    return None if text is None else date.fromisoformat(text)


@lru_cache(maxsize=16384)
def day_text(value: date | None) -> str | None:
    """A day as the tables keep it."""
    return None if value is None else value.isoformat()
