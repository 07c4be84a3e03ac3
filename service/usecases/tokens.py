"""Create, list, find and revoke tokens."""

import secrets
from dataclasses import replace
from datetime import datetime

from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid, NotFound
from service.domain.instants import to_text
from service.domain.tokens import ShownToken, Token, hash_secret, read_token
from service.storage.store import Store
from service.usecases import audit


def create(  # noqa: PLR0913  # one keyword for each field of a token
    store: Store,
    *,
    name: str,
    role: str,
    units_shown: str = "us",
    technician: str | None = None,
    expires_at: datetime | None = None,
    actor: Actor,
) -> tuple[Token, str]:
    """Create a token; its text comes back this once and is not recorded. Invalid for one that would open nothing."""
    shown = ShownToken(secrets.token_hex(6), secrets.token_urlsafe(32))
    token = Token(
        id=shown.id,
        hash=hash_secret(shown.secret),
        name=name,
        role=role,
        units_shown=units_shown,
        created_at=actor.at,
        technician=technician,
        expires_at=expires_at,
    )
    technician_id = None if technician is None else store.technicians.id_of(technician)
    _check(store, token, technician_id, actor.at)
    store.tokens.add(token, technician_id=technician_id)
    audit.created(store, actor, "token", token.id, recorded(token))
    return token, shown.text()


def _check(store: Store, token: Token, technician_id: int | None, now: datetime) -> None:
    if token.technician is not None:
        if technician_id is None:
            raise Invalid([Fault("technician", token.technician, f"there is no technician {token.technician!r}")])
        token = replace(token, left_on=store.technicians.get(token.technician).left_on)
    match token.ended(now):
        case "expired":
            at = token.expires_at and to_text(token.expires_at)
            raise Invalid([Fault("expires_at", at, f"is not in the future; it is now {to_text(now)}")])
        case "technician left":
            left = f"{token.technician} left on {token.left_on}; the token would open nothing"
            raise Invalid([Fault("technician", token.technician, left)])


def revoke(store: Store, token_id: str, *, actor: Actor) -> None:
    """End a token for good; revoking it again changes nothing. NotFound when there is none."""
    token = store.tokens.find(token_id)
    if token is None:
        raise NotFound("token", token_id)
    if store.tokens.revoke(token_id, actor.at):
        revoked = replace(token, revoked_at=actor.at)
        audit.changed(store, actor, "token", token_id, before=recorded(token), after=recorded(revoked))


def known(store: Store, text: str) -> Token | None:
    """The token whose secret this text holds, ended or not; None when there is none."""
    shown = read_token(text)
    token = None if shown is None else store.tokens.find(shown.id)
    return token if shown and token and shown.is_of(token) else None


def recorded(token: Token) -> dict[str, str | None]:
    """A token as the audit trail keeps it, without its hash."""
    return {
        "name": token.name,
        "role": token.role,
        "units_shown": token.units_shown,
        "technician": token.technician,
        "expires_at": None if token.expires_at is None else to_text(token.expires_at),
        "revoked_at": None if token.revoked_at is None else to_text(token.revoked_at),
    }
