"""JSON read strictly: no repeated names, no NaN, no number beyond what can be stored, whole Unicode text."""

import json
import re
from collections import Counter
from collections.abc import Iterator
from itertools import islice
from math import isinf
from typing import Any

from service.domain.errors import Fault, Invalid

DEEPEST = 40
READABLE = 500  # levels that every interpreter can read; what lies deeper is refused before it is read
# Texts, and the brackets outside them; possessive, so that a long text takes no memory to pass over.
MARKS = re.compile(rb'"(?:[^"\\]++|\\.)*+"|[\[{]|[\]}]', re.DOTALL)
LARGEST_INTEGER = 2**63 - 1
MOST_COUNTED = 1000
LONGEST_STEP = 100
WHOLE = "body"
TEXT_RULE = "text must not hold a NUL character or half of a surrogate pair"
Path = tuple[str | int, ...]


class NotJson(ValueError):
    """The bytes are no JSON document; the text says where and why."""


def parse(raw: bytes, what: str = "body") -> Any:
    """One strict JSON document (RFC 8259 narrowed: names appear once, numbers fit 64 bits, text is whole Unicode).

    `what` it is called where it is none.

    >>> parse(b'{"tag": "GU-0007"}')
    {'tag': 'GU-0007'}
    """
    if not raw.strip():
        raise NotJson(f"The {what} is empty; a JSON document is needed.")
    nested = raw.count(b"[") + raw.count(b"{")
    if nested > READABLE and _depth(raw) > READABLE:
        raise Invalid([_too_deep(())])
    reader = Reader()
    try:
        document = reader.decoder.decode(raw.decode())
    except UnicodeDecodeError as fault:
        raise NotJson(f"The {what} is not UTF-8: byte {fault.object[fault.start]:#04x} at {fault.start}.") from fault
    except json.JSONDecodeError as fault:
        where = f"column {fault.colno}" if what == "line" else f"line {fault.lineno}, column {fault.colno}"
        raise NotJson(f"The {what} is not JSON: {fault.msg} at {where}.") from fault
    if reader.refused or b"\\u" in raw or nested > DEEPEST:
        _require_clean(document)
    return document


def _depth(raw: bytes) -> int:
    deepest = depth = 0
    for mark in MARKS.finditer(raw):
        depth += (mark[0] in b"[{") - (mark[0] in b"]}")
        deepest = max(deepest, depth)
    return deepest


class Refused:
    """Stands in the document where something cannot be accepted."""

    __slots__ = ("given", "why")

    def __init__(self, given: object, why: str) -> None:
        self.given = given
        self.why = why


class Reader:
    """Reads one document and puts a Refused where something is wrong, so that its place can be reported."""

    def __init__(self) -> None:
        self.refused = False
        self.decoder = json.JSONDecoder(
            object_pairs_hook=self._object, parse_int=self._integer, parse_float=self._float, parse_constant=self._word
        )

    def _refuse(self, given: object, why: str) -> Any:
        self.refused = True
        return Refused(given, why)

    def _object(self, pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found = dict(pairs)
        if len(found) < len(pairs):
            times = Counter(name for name, _ in pairs)
            repeated = (name for name in found if times[name] > 1)
            found |= {name: self._refuse(None, "this name appears more than once in the object") for name in repeated}
        return found

    def _integer(self, text: str) -> Any:
        if len(text) < 19 or (len(text) <= 20 and abs(int(text)) <= LARGEST_INTEGER):
            return int(text)
        return self._refuse(text, f"a whole number must lie between -{LARGEST_INTEGER} and {LARGEST_INTEGER}")

    def _float(self, text: str) -> Any:
        value = float(text)
        return self._refuse(text, "this number is beyond 1.8e308, the limit of a double") if isinf(value) else value

    def _word(self, text: str) -> Any:
        return self._refuse(text, "not a JSON number; only finite numbers can be given")


def _require_clean(document: Any) -> None:
    faults = list(islice(_faults((), document), MOST_COUNTED))
    if faults:
        raise Invalid(faults, counted_all=len(faults) < MOST_COUNTED)


def _faults(path: Path, value: Any) -> Iterator[Fault]:
    if isinstance(value, Refused):
        yield Fault(_place(path), value.given, value.why)
    elif isinstance(value, str):
        if not storable(value):
            yield Fault(_place(path), value, TEXT_RULE)
    elif isinstance(value, dict | list):
        if len(path) >= DEEPEST:
            yield _too_deep(path)
        else:
            yield from _in_parts(path, value)


def _in_parts(path: Path, value: dict[str, Any] | list[Any]) -> Iterator[Fault]:
    for name, part in enumerate(value) if isinstance(value, list) else value.items():
        if isinstance(name, str) and not storable(name):
            yield Fault(_place((*path, name)), name, TEXT_RULE)
        elif isinstance(part, Refused | str | dict | list):
            yield from _faults((*path, name), part)


def storable(text: str) -> bool:
    """Whether the text can be kept: no NUL, which PostgreSQL refuses, and no half of a surrogate pair."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return "\0" not in text


def _too_deep(path: Path) -> Fault:
    return Fault(_place(path), None, f"nested deeper than {DEEPEST} levels")


def _place(path: Path) -> str:
    return ".".join(str(step)[:LONGEST_STEP] for step in path) or WHOLE
