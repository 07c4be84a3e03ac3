"""Tokens, kept as hashes."""

from datetime import datetime
from typing import Any

from sqlalchemy import bindparam, select, tuple_

from service.domain.instants import from_text, to_text
from service.domain.tokens import Token
from service.storage.engine.link import Link
from service.storage.engine.statements import Statement
from service.storage.tables import token

TOKENS = select(
    token.c.id,
    token.c.hash,
    token.c.name,
    token.c.role,
    token.c.units_shown,
    token.c.created_at,
    token.c.revoked_at,
)
TOKEN = Statement(TOKENS.where(token.c.id == bindparam("key")))
ADD_TOKEN = Statement(token.insert().values({column.name: bindparam(column.name) for column in token.c}))
REVOKE = Statement(
    token.update()
    .values(revoked_at=bindparam("at"))
    .where(token.c.id == bindparam("key"), token.c.revoked_at.is_(None))
)


def _token(row: tuple[Any, ...]) -> Token:
    token_id, hashed, name, role, units_shown, created_at, revoked_at = row
    return Token(
        id=token_id,
        hash=hashed,
        name=name,
        role=role,
        units_shown=units_shown,
        created_at=from_text(created_at),
        revoked_at=None if revoked_at is None else from_text(revoked_at),
    )


class Tokens:
    """All tokens, including revoked ones."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def find(self, token_id: str) -> Token | None:
        """The token of this id, revoked or not; runs on every request."""
        row = self.link.row(TOKEN, key=token_id)
        return None if row is None else _token(row)

    def add(self, new: Token) -> None:
        """Store a new token; Conflict when the id is taken."""
        self.link.run(
            ADD_TOKEN,
            id=new.id,
            hash=new.hash,
            name=new.name,
            role=new.role,
            units_shown=new.units_shown,
            created_at=to_text(new.created_at),
            revoked_at=None if new.revoked_at is None else to_text(new.revoked_at),
        )

    def revoke(self, token_id: str, at: datetime) -> bool:
        """Whether this call ended the token; False when it had ended before."""
        return bool(self.link.run(REVOKE, key=token_id, at=to_text(at)))

    def page(self, *, after: tuple[str, str] | None, limit: int) -> list[Token]:
        """Tokens, oldest first, behind (created_at as text, id)."""
        order = tuple_(token.c.created_at, token.c.id)
        query = TOKENS if after is None else TOKENS.where(order > after)
        return [_token(row) for row in self.link.core(query.order_by(token.c.created_at, token.c.id).limit(limit))]
