"""Access tokens, in the form `gf_<id>_<secret>`."""

import hashlib
import hmac
from dataclasses import dataclass
from datetime import UTC, date, datetime

ROLES = ("technician", "dispatcher", "owner", "reader")
LONGEST_TOKEN = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Token:
    """A token as recorded: the secret's hash, never the secret. `left_on` is its technician's."""

    id: str
    hash: str
    name: str
    role: str
    units_shown: str
    created_at: datetime
    revoked_at: datetime | None = None
    technician: str | None = None
    left_on: date | None = None
    expires_at: datetime | None = None
    last_used_at: datetime | None = None

    def ended(self, now: datetime) -> str | None:
        """Why the token opens nothing at this instant; None while it is valid.

        One of a technician ends as the day begins in UTC on which the technician has left.
        """
        if self.revoked_at is not None:
            return "revoked"
        if self.expires_at is not None and self.expires_at <= now:
            return "expired"
        if self.left_on is not None and self.left_on <= now.astimezone(UTC).date():
            return "technician left"
        return None


@dataclass(frozen=True, slots=True)
class ShownToken:
    """The two parts of a token text."""

    id: str
    secret: str

    def text(self) -> str:
        """The token as the caller sends it."""
        return f"gf_{self.id}_{self.secret}"

    def is_of(self, token: Token) -> bool:
        """Whether the secret is the token's; takes the same time either way."""
        return hmac.compare_digest(hash_secret(self.secret), token.hash)


def read_token(text: str) -> ShownToken | None:
    """The parts of a token text, None for anything else.

    >>> read_token("gf_0a1b_s_cret")
    ShownToken(id='0a1b', secret='s_cret')
    """
    mark, _, rest = text.partition("_")
    token_id, _, secret = rest.partition("_")
    if mark != "gf" or not token_id or not secret or len(text) > LONGEST_TOKEN or not text.isascii():
        return None
    return ShownToken(token_id, secret)


def hash_secret(secret: str) -> str:
    """SHA-256 in hexadecimal: the secret has 256 random bits, so a slow hash would add nothing."""
    return hashlib.sha256(secret.encode()).hexdigest()
