"""One text for all that are equal: codes and names stand in every visit, and histories are kept in memory."""

from functools import lru_cache
from typing import TypeVar

Text = TypeVar("Text", str, str | None)
LONGEST = 32  # longer ones are notes and identifiers, of which no two are equal


def shared(text: Text) -> Text:
    """The text itself, or an equal one that was here before."""
    return text if text is None or len(text) > LONGEST else _first(text)


@lru_cache(maxsize=8192)
def _first(text: str) -> str:
    return text
