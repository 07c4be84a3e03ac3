"""Sign a browser in with a token or a one-time link, and out again."""

import secrets
from datetime import datetime

from service.domain.audit import Actor
from service.domain.errors import Conflict, NotFound
from service.domain.instants import to_text
from service.domain.sessions import LINK_LIFE, LONGEST_DEVICE, Session
from service.domain.tokens import Token, hash_secret
from service.storage.store import Store
from service.usecases import audit


def make_link(store: Store, actor: Actor, token_id: str) -> str:
    """The secret of a new one-time link that signs in with a token; Conflict for a token that has ended."""
    token = store.tokens.find(token_id)
    if token is None:
        raise NotFound("token", token_id)
    if why := token.ended(actor.at):
        raise Conflict(f"The token {token_id!r} opens nothing ({why}); create another.")
    secret, expires_at = secrets.token_urlsafe(24), actor.at + LINK_LIFE
    store.sessions.add_link(hash_secret(secret), token_id, expires_at)
    audit.created(store, actor, "sign_in_link", token_id, {"expires_at": to_text(expires_at)})
    return secret


def holder_of_link(store: Store, secret: str, now: datetime) -> Token | None:
    """The token that a link signs in with; None for a link that opens nothing (any more)."""
    token_id = store.sessions.link_for(hash_secret(secret), now)
    token = None if token_id is None else store.tokens.find(token_id)
    return None if token is None or token.ended(now) else token


def use_link(store: Store, secret: str, device: str, now: datetime) -> tuple[Token, str] | None:
    """Use a link up: its token, and the secret of the new session; None where it opens nothing (any more)."""
    token = holder_of_link(store, secret, now)
    if token is None or not store.sessions.use_link(hash_secret(secret), now):
        return None
    return token, sign_in(store, token, device, now)


def sign_in(store: Store, token: Token, device: str, now: datetime) -> str:
    """Begin a session with a valid token; its secret comes back this once and is not recorded."""
    secret = secrets.token_urlsafe(32)
    new = Session(
        id=secrets.token_hex(6), token_id=token.id, started_at=now, last_used_at=now, device=device[:LONGEST_DEVICE]
    )
    store.sessions.add(new, hash_secret(secret))
    by = Actor(token.name, token.role, None, now, token_id=token.id, technician=token.technician)
    audit.created(store, by, "session", new.id, {"token": token.id, "device": new.device})
    return secret


def known(store: Store, secret: str) -> tuple[Session, Token] | None:
    """The session with this secret and its token, ended or not."""
    return store.sessions.by_hash(hash_secret(secret))


def end(store: Store, actor: Actor, session_id: str, *, of_token: str | None = None) -> None:
    """End a session for good; NotFound where it is not one of the token named. Ending it again changes nothing."""
    found = store.sessions.find(session_id)
    if found is None or of_token not in (None, found[0].token_id):
        raise NotFound("session", session_id)
    if store.sessions.end(session_id, actor.at):
        audit.deleted(store, actor, "session", session_id, {"token": found[0].token_id, "device": found[0].device})


def open_sessions(store: Store, now: datetime, token_id: str | None = None) -> list[tuple[Session, Token]]:
    """The sessions that open something now, of one token or of all, the latest used first."""
    return [each for each in store.sessions.live(token_id) if not (each[0].ended(now) or each[1].ended(now))]
