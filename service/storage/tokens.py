"""Tokens, kept as hashes."""

from datetime import datetime
from typing import Any

from sqlalchemy import bindparam, or_, select, tuple_

from service.domain.instants import from_text, to_text
from service.domain.tokens import Token
from service.storage.documents import day
from service.storage.engine.link import Link
from service.storage.engine.statements import Statement
from service.storage.tables import technician, token

TOKENS = select(
    token.c.id,
    token.c.hash,
    token.c.name,
    token.c.role,
    token.c.units_shown,
    token.c.created_at,
    token.c.revoked_at,
    technician.c.code.label("technician"),
    technician.c.left_on,
    token.c.expires_at,
    token.c.last_used_at,
).select_from(token.outerjoin(technician))
NAMES = tuple(column.name for column in TOKENS.selected_columns)
INSTANTS = ("created_at", "revoked_at", "expires_at", "last_used_at")
TOKEN = Statement(TOKENS.where(token.c.id == bindparam("key")))
ADD_TOKEN = Statement(token.insert().values({column.name: bindparam(column.name) for column in token.c}))
REVOKE = Statement(
    token.update()
    .values(revoked_at=bindparam("at"))
    .where(token.c.id == bindparam("key"), token.c.revoked_at.is_(None))
)
USED = Statement(
    token.update()
    .values(last_used_at=bindparam("at"))
    .where(token.c.id == bindparam("key"), or_(token.c.last_used_at.is_(None), token.c.last_used_at < bindparam("at")))
)


def token_of(row: tuple[Any, ...]) -> Token:
    """A token from its row in `TOKENS`."""
    parts = dict(zip(NAMES, row, strict=True))
    instants = {name: parts[name] and from_text(parts[name]) for name in INSTANTS}
    return Token(**parts | instants | {"left_on": day(parts["left_on"])})


def _text(instant: datetime | None) -> str | None:
    return None if instant is None else to_text(instant)


class Tokens:
    """All tokens, including those that have ended."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def find(self, token_id: str) -> Token | None:
        """The token of this id, ended or not; runs on every request."""
        row = self.link.row(TOKEN, key=token_id)
        return None if row is None else token_of(row)

    def add(self, new: Token, *, technician_id: int | None) -> None:
        """Store a new token; Conflict when the id is taken."""
        self.link.run(
            ADD_TOKEN,
            id=new.id,
            hash=new.hash,
            name=new.name,
            role=new.role,
            units_shown=new.units_shown,
            technician_id=technician_id,
            **{name: _text(getattr(new, name)) for name in INSTANTS},
        )

    def revoke(self, token_id: str, at: datetime) -> bool:
        """Whether this call ended the token; False when it had ended before."""
        return bool(self.link.run(REVOKE, key=token_id, at=to_text(at)))

    def used(self, token_id: str, at: datetime) -> None:
        """Keep when a token was used, unless a later use is kept."""
        self.link.run(USED, key=token_id, at=to_text(at))

    def page(self, *, after: tuple[str, str] | None, limit: int) -> list[Token]:
        """Tokens, oldest first, behind (created_at as text, id)."""
        order = tuple_(token.c.created_at, token.c.id)
        query = TOKENS if after is None else TOKENS.where(order > after)
        return [token_of(row) for row in self.link.core(query.order_by(token.c.created_at, token.c.id).limit(limit))]
