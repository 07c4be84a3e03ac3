"""Signed-in browsers: a session ends with its token, after days without use, and after its longest life.

The limits are common practice, no source.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

IDLE = timedelta(days=14)
LONGEST = timedelta(days=90)
LINK_LIFE = timedelta(minutes=15)
LONGEST_DEVICE = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """A browser that was signed in with a token; `device` is what the browser says of itself."""

    id: str
    token_id: str
    started_at: datetime
    last_used_at: datetime
    device: str
    ended_at: datetime | None = None

    def ended(self, now: datetime) -> str | None:
        """Why it opens nothing at this instant; None while it is valid. Its token may have ended before."""
        if self.ended_at is not None:
            return "signed out"
        if now >= self.last_used_at + IDLE:
            return "not used for long"
        return "too old" if now >= self.started_at + LONGEST else None
