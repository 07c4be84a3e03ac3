"""Signed-in browsers, and the one-time links that sign one in."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import bindparam, select

from service.domain.instants import from_text, to_text
from service.domain.sessions import Session
from service.domain.tokens import Token
from service.storage.engine.link import Link
from service.storage.engine.statements import Statement
from service.storage.tables import session, sign_in_link, token
from service.storage.tokens import TOKENS, token_of

COLUMNS = (
    session.c.id,
    session.c.token_id,
    session.c.started_at,
    session.c.last_used_at,
    session.c.device,
    session.c.ended_at,
)
WITH_TOKEN = TOKENS.add_columns(*(column.label(f"session_{column.name}") for column in COLUMNS)).join(
    session, session.c.token_id == token.c.id
)
BY_HASH = Statement(WITH_TOKEN.where(session.c.hash == bindparam("key")))
BY_ID = Statement(WITH_TOKEN.where(session.c.id == bindparam("key")))
LIVE = WITH_TOKEN.where(session.c.ended_at.is_(None)).order_by(session.c.last_used_at.desc(), session.c.id)
ADD = Statement(session.insert().values({column.name: bindparam(column.name) for column in session.c}))
USED = Statement(session.update().values(last_used_at=bindparam("at")).where(session.c.id == bindparam("key")))
END = Statement(
    session.update()
    .values(ended_at=bindparam("at"))
    .where(session.c.id == bindparam("key"), session.c.ended_at.is_(None))
)
FORGET = Statement(session.delete().where(session.c.last_used_at < bindparam("before")))
ADD_LINK = Statement(sign_in_link.insert().values({column.name: bindparam(column.name) for column in sign_in_link.c}))
OPENS = (
    sign_in_link.c.hash == bindparam("key"),
    sign_in_link.c.used_at.is_(None),
    sign_in_link.c.expires_at > bindparam("at"),
)
LINK = Statement(select(sign_in_link.c.token_id).where(*OPENS))
USE_LINK = Statement(sign_in_link.update().values(used_at=bindparam("at")).where(*OPENS))
FORGET_LINKS = Statement(sign_in_link.delete().where(sign_in_link.c.expires_at < bindparam("before")))


def _read(row: Sequence[Any]) -> tuple[Session, Token]:
    own, of_token = row[-len(COLUMNS) :], row[: -len(COLUMNS)]
    parts = dict(zip((column.name for column in COLUMNS), own, strict=True))
    instants = {name: parts[name] and from_text(parts[name]) for name in ("started_at", "last_used_at", "ended_at")}
    return Session(**parts | instants), token_of(tuple(of_token))


class Sessions:
    """All sessions that are kept, ended ones too."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def by_hash(self, hashed: str) -> tuple[Session, Token] | None:
        """The session whose secret has this hash, and its token, ended or not; runs on every request of a page."""
        row = self.link.row(BY_HASH, key=hashed)
        return None if row is None else _read(row)

    def find(self, session_id: str) -> tuple[Session, Token] | None:
        """The session of this id, and its token."""
        row = self.link.row(BY_ID, key=session_id)
        return None if row is None else _read(row)

    def live(self, token_id: str | None) -> list[tuple[Session, Token]]:
        """Sessions that nobody ended, of one token or of all, the latest used first."""
        query = LIVE if token_id is None else LIVE.where(session.c.token_id == token_id)
        return [_read(tuple(row)) for row in self.link.core(query)]

    def add(self, new: Session, hashed: str) -> None:
        """Store a new session under the hash of its secret."""
        started, used = to_text(new.started_at), to_text(new.last_used_at)
        own = {"id": new.id, "hash": hashed, "token_id": new.token_id, "device": new.device, "ended_at": None}
        self.link.run(ADD, started_at=started, last_used_at=used, **own)

    def used(self, session_id: str, at: datetime) -> None:
        """Keep when a session was used."""
        self.link.run(USED, key=session_id, at=to_text(at))

    def end(self, session_id: str, at: datetime) -> bool:
        """Whether this call ended the session; False when it had ended before."""
        return bool(self.link.run(END, key=session_id, at=to_text(at)))

    def add_link(self, hashed: str, token_id: str, expires_at: datetime) -> None:
        """Store a one-time link under the hash of its secret."""
        self.link.run(ADD_LINK, hash=hashed, token_id=token_id, expires_at=to_text(expires_at), used_at=None)

    def link_for(self, hashed: str, at: datetime) -> str | None:
        """The id of the token that a link signs in with; None for a link that is unknown, used or too old."""
        found: str | None = self.link.value(LINK, key=hashed, at=to_text(at))
        return found

    def use_link(self, hashed: str, at: datetime) -> bool:
        """Whether this call used the link up; False when another one did, or it is too old."""
        return bool(self.link.run(USE_LINK, key=hashed, at=to_text(at)))

    def forget(self, before: datetime) -> None:
        """Delete links that expired, and sessions last used, before an instant."""
        self.link.run(FORGET, before=to_text(before))
        self.link.run(FORGET_LINKS, before=to_text(before))
