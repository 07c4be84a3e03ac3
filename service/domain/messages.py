"""English texts that keep the message they are made of, so that rendering can word them in another language.

A `Message` is the English text itself; it is compared, sorted and written as that text. `gettext` and `ngettext` mark a
message for the catalogue. Placeholders are named; a value may be a message as well.
"""

from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

TERM = "term"  # the context of names and codes, which the catalogue lists beside what is marked


class Message(str):
    """A text with its message ids (none where parts are joined, two with a plural), context and values."""

    __slots__ = ("context", "ids", "values")
    context: str
    ids: tuple[str, ...]
    values: Mapping[str, Any]

    def __new__(cls, text: str, ids: tuple[str, ...], values: Mapping[str, Any], context: str = "") -> "Message":
        """Keep what the text is made of."""
        made = str.__new__(cls, text)
        made.ids, made.values, made.context = ids, values, context
        return made

    def __reduce__(self) -> tuple[Any, ...]:
        """Pickle all of it: documents are made in other processes."""
        return Message, (str(self), self.ids, self.values, self.context)


def gettext(message: str, /, **values: Any) -> Message:
    """A text of the catalogue with its values.

    >>> gettext("The figures end on {day}.", day="2026-11-20")
    'The figures end on 2026-11-20.'
    """
    return Message(message.format(**values) if values else message, (message,), values)


def ngettext(one: str, many: str, count: int, /, **values: Any) -> Message:
    """A text that depends on a number, which is its value `count`.

    >>> ngettext("{count} visit", "{count} visits", 2)
    '2 visits'
    """
    shown = {"count": count, **values}
    return Message((one if count == 1 else many).format(**shown), (one, many), shown)


def term(text: str, **values: Any) -> Message:
    """A name or code as words, which the catalogue lists as a term.

    >>> term("service_call")
    'service call'
    """
    if not values:
        return _name(text)
    shown = text.replace("_", " ")
    return Message(shown.format(**values), (shown,), values, TERM)


@lru_cache(maxsize=4096)
def _name(text: str) -> Message:
    shown = text.replace("_", " ")
    return Message(shown, (shown,), {}, TERM)


def joined(parts: Iterable[str], separator: str = " ") -> Message:
    """Whole sentences, or the members of a list, one after the other."""
    each = tuple(parts)
    return Message(separator.join(each), (), {"separator": separator, "parts": each})
