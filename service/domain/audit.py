"""Who changed what, and when; and the chain of hashes that shows whether an entry was changed or removed since."""

import hashlib
from dataclasses import dataclass
from datetime import datetime

from service.domain.instants import to_text

NO_ENTRY = "0" * 64  # what the first entry is chained to


@dataclass(frozen=True, slots=True)
class Actor:
    """Who makes a change, with which request, at which instant (UTC), by which token, and as which technician.

    `importing`: the change comes from a file, which may bring its history.
    """

    name: str
    role: str
    request_id: str | None
    at: datetime
    token_id: str | None = None
    technician: str | None = None
    importing: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One state change; `before` and `after` are JSON texts, None where there was or is nothing."""

    at: datetime
    actor: str
    role: str
    token_id: str | None = None
    technician: str | None = None
    request_id: str | None
    action: str
    resource: str
    key: str
    before: str | None
    after: str | None
    id: int = 0
    hash: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditFilter:
    """How to narrow the entries; `since` is inclusive, `until` is not."""

    resource: str | None = None
    key: str | None = None
    actor: str | None = None
    since: datetime | None = None
    until: datetime | None = None


def canonical(entry: Entry) -> bytes:
    """An entry as bytes, each field with its length before it, so that no two entries are written alike.

    >>> canonical(Entry(id=7, at=datetime.fromisoformat("2026-06-09T19:05:00Z"), actor="Rhea", role="technician",
    ...     request_id=None, action="created", resource="visit", key="k", before=None, after="{}"))
    b'1:7,27:2026-06-09T19:05:00.000000Z,4:Rhea,10:technician,-,-,-,7:created,5:visit,1:k,-,2:{},'
    """
    return b"".join(map(_canonical, _texts(entry)))


def _canonical(text: str | None) -> bytes:
    if text is None:
        return b"-,"
    raw = text.encode()
    return b"%d:%s," % (len(raw), raw)


def _texts(entry: Entry) -> tuple[str | None, ...]:
    return (
        str(entry.id),
        to_text(entry.at),
        entry.actor,
        entry.role,
        entry.token_id,
        entry.technician,
        entry.request_id,
        entry.action,
        entry.resource,
        entry.key,
        entry.before,
        entry.after,
    )


def chained(previous: str, entry: Entry) -> str:
    """The entry's hash: SHA-256 (FIPS 180-4) of the previous entry's hash and this entry, in hexadecimal."""
    return hashlib.sha256(previous.encode() + canonical(entry)).hexdigest()
