"""The only module that reads the system clock."""

from datetime import UTC, datetime


def now() -> datetime:
    """The current time, timezone-aware, in UTC."""
    return datetime.now(UTC)
