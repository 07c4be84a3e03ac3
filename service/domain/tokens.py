"""Access tokens, in the form `gf_<id>_<secret>`."""

import hashlib
import hmac
from dataclasses import dataclass
from datetime import datetime

ROLES = ("technician", "dispatcher", "owner")
LONGEST_TOKEN = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Token:
    """A token as recorded: the secret's hash, never the secret."""

    id: str
    hash: str
    name: str
    role: str
    units_shown: str
    created_at: datetime
    revoked_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class ShownToken:
    """The two parts of a token text."""

    id: str
    secret: str

    def text(self) -> str:
        """The token as the caller sends it."""
        return f"gf_{self.id}_{self.secret}"

    def opens(self, token: Token) -> bool:
        """Whether the secret is the token's and the token is not revoked; takes the same time either way."""
        return hmac.compare_digest(hash_secret(self.secret), token.hash) and token.revoked_at is None


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
