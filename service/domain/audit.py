"""Who changed what, and when."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Actor:
    """Who makes a change, with which request, at which instant (UTC)."""

    name: str
    role: str
    request_id: str | None
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One state change; `before` and `after` are JSON texts, None where there was or is nothing."""

    at: datetime
    actor: str
    role: str
    request_id: str | None
    action: str
    resource: str
    key: str
    before: str | None
    after: str | None
    id: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditFilter:
    """How to narrow the entries; `since` is inclusive, `until` is not."""

    resource: str | None = None
    key: str | None = None
    actor: str | None = None
    since: datetime | None = None
    until: datetime | None = None
