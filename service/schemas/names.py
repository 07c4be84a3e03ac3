"""The codes in a document, each with its path: what it names of the record."""

from collections.abc import Iterator, Mapping
from typing import Any

from marshmallow import Schema, fields

from service.schemas.fields import CODE, Code


def names_in(schema: Schema, document: Any, path: str = "") -> Iterator[tuple[str, str, str]]:
    """(path, field, code) of every code that stands where the schema has one, in its lists and parts too."""
    if not isinstance(document, Mapping):
        return
    for name, field in schema.fields.items():
        given, here = document.get(name), f"{path}{name}"
        if isinstance(field, Code):
            yield from _text(here, name, given)
        elif isinstance(field, fields.List) and isinstance(given, list):
            for n, each in enumerate(given):
                if isinstance(field.inner, Code):
                    yield from _text(f"{here}.{n}", name, each)
                elif isinstance(field.inner, fields.Nested):
                    yield from names_in(field.inner.schema, each, f"{here}.{n}.")


def _text(path: str, name: str, given: Any) -> Iterator[tuple[str, str, str]]:
    if isinstance(given, str) and CODE.fullmatch(given):
        yield path, name, given
