"""What is posted once: the first answer to a key is given again, and a stored record is not stored twice."""

from collections.abc import Mapping
from datetime import datetime
from hashlib import sha256
from typing import Any
from uuid import UUID

import orjson

from service.domain.errors import KeyReused
from service.domain.instants import to_text
from service.storage.store import Store

Answer = tuple[str, str]  # the record's id and the JSON text


def answered(store: Store, caller: tuple[str, str], key: str, fingerprint: str, what: str) -> Answer | None:
    """The first answer to this key, if there was one; KeyReused when the body is another.

    `caller` is the id of the token that owns the key, empty for everyone, and its name.
    """
    first = store.answers.first(*caller, key)
    if first is None:
        return None
    if first[0] != fingerprint:
        raise KeyReused(f"The key {key!r} was used before with another body; a new {what} needs a new key.")
    return first[1], first[2]


def keep_answer(store: Store, at: datetime, *, caller: str, key: str, fingerprint: str, answer: Answer) -> None:
    """Remember the answer to a key, for whoever posts it again."""
    identity, body = answer
    store.answers.keep(caller, key, fingerprint=fingerprint, visit=identity, body=body, given_at=to_text(at))


def fingerprint_of(document: Mapping[str, Any]) -> str:
    """The fingerprint of a JSON body, whatever the order of its fields."""
    return sha256(orjson.dumps(document, option=orjson.OPT_SORT_KEYS)).hexdigest()


def is_stored(known: str | None, fingerprint: str, what: str, identity: str) -> bool:
    """Whether this record is stored with this body; `known` is the stored body's fingerprint. KeyReused for another."""
    if known is not None and known != fingerprint:
        raise KeyReused(f"The {what} {identity!r} was posted before with another body; PATCH it to put it right.")
    return known is not None


def new_id(at_milliseconds: int, entropy: bytes) -> str:
    """A UUID of version 7 (RFC 9562 section 5.7) for a client that sent a key and no id."""
    value = int.from_bytes(at_milliseconds.to_bytes(6, "big") + entropy[:10], "big")
    value = value & ~(0xF << 76) | 0x7 << 76
    return str(UUID(int=value & ~(0x3 << 62) | 0x2 << 62))
