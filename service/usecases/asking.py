"""An owner that no database knows, so that a command can ask the application what its clients ask."""

import secrets
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from service.domain.tokens import ShownToken, Token, hash_secret
from service.storage.store import Store
from service.storage.tokens import Tokens


@dataclass(frozen=True, slots=True)
class Owner:
    """A token that lives as long as the command. Its use counts as recorded, so that asking writes nothing."""

    shown: ShownToken
    token: Token


def an_owner(now: datetime) -> Owner:
    """A new one; its secret is never written anywhere."""
    shown = ShownToken(secrets.token_hex(6), secrets.token_urlsafe(32))
    token = Token(
        id=shown.id,
        hash=hash_secret(shown.secret),
        name="command line",
        role="owner",
        units_shown="si",
        created_at=now,
        last_used_at=now,
    )
    return Owner(shown, token)


def store_knowing(owner: Owner) -> type[Store]:
    """A store in which the owner's token opens, besides those that are recorded."""

    class Knowing(Tokens):
        def find(self, token_id: str) -> Token | None:
            return owner.token if token_id == owner.token.id else super().find(token_id)

    class Asked(Store):
        @cached_property
        def tokens(self) -> Tokens:
            return Knowing(self.link)

    return Asked
