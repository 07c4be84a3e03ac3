"""The words of the documents in the language of the rendering under way; English where none is set."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import fields, is_dataclass, replace
from functools import cache
from gettext import GNUTranslations, NullTranslations
from io import BytesIO
from pathlib import Path
from typing import Any, TypeVar, cast

from service.domain import messages
from service.domain.messages import Message

FOLDER = Path(__file__).parent
ENGLISH = "en"
T = TypeVar("T")
_LANGUAGE = ContextVar("language", default=ENGLISH)


@contextmanager
def in_language(language: str) -> Iterator[None]:
    """Word what is rendered within in a language that has a catalogue; LookupError for another."""
    _catalogue(language)
    token = _LANGUAGE.set(language)
    try:
        yield
    finally:
        _LANGUAGE.reset(token)


def language() -> str:
    """The language of the rendering under way."""
    return _LANGUAGE.get()


def gettext(message: str, /, **values: Any) -> str:
    """A message of the catalogue with its values."""
    return worded(messages.gettext(message, **values))


def ngettext(one: str, many: str, count: int, /, **values: Any) -> str:
    """A message that depends on a number, which is its value `count`."""
    return worded(messages.ngettext(one, many, count, **values))


def term(text: str) -> str:
    """A name or code as words."""
    return worded(messages.term(text))


def worded(text: str) -> str:
    """A text in the language; what is no message stays as it is."""
    if not isinstance(text, Message) or _LANGUAGE.get() == ENGLISH:
        return text
    if not text.ids:
        return str(text.values["separator"]).join(map(worded, text.values["parts"]))
    found = _catalogue(_LANGUAGE.get())
    if len(text.ids) > 1:
        one, many = text.ids
        pattern = found.ngettext(one, many, text.values["count"])
    else:
        pattern = found.pgettext(text.context, *text.ids) if text.context else found.gettext(*text.ids)
    values = {name: worded(value) for name, value in text.values.items()}
    return pattern.format(**values) if values else pattern


def all_worded(value: T) -> T:
    """A value of dataclasses and tuples with every message worded."""
    return value if _LANGUAGE.get() == ENGLISH else cast("T", _worded(value))


def _worded(value: Any) -> Any:
    if isinstance(value, tuple):
        return tuple(map(_worded, value))
    if isinstance(value, str):
        return worded(value)
    if not is_dataclass(value) or isinstance(value, type):
        return value
    old = {each.name: getattr(value, each.name) for each in fields(value)}
    new = {name: _worded(each) for name, each in old.items()}
    return replace(value, **{name: each for name, each in new.items() if each is not old[name]})


@cache
def _catalogue(code: str) -> NullTranslations:
    if code == ENGLISH:
        return NullTranslations()
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    path = FOLDER / f"{code}.po"
    if not path.is_file():
        raise LookupError(f"there is no catalogue of {code!r}")
    compiled = BytesIO()
    write_mo(compiled, read_po(BytesIO(path.read_bytes())))
    compiled.seek(0)
    return GNUTranslations(compiled)
