"""Who changed what, and when."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Actor:
    """Who makes a change, by which request, at which instant (UTC)."""

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
    noun: str
    key: str
    before: str | None
    after: str | None
    id: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditFilter:
    """Which entries are asked for; `since` counts in, `until` does not."""

    noun: str | None = None
    key: str | None = None
    actor: str | None = None
    since: datetime | None = None
    until: datetime | None = None
