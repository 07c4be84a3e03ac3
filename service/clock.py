"""The only module that asks the machine what time it is."""

from datetime import UTC, datetime


def now() -> datetime:
    """This instant, aware, in UTC."""
    return datetime.now(UTC)
