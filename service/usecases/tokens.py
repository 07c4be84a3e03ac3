"""Give out, list, recognise and revoke tokens."""

import secrets
from dataclasses import replace

from service.domain.audit import Actor
from service.domain.errors import NotFound
from service.domain.instants import to_text
from service.domain.tokens import ShownToken, Token, hash_secret, read_token
from service.storage.store import Store
from service.usecases import audit


def create(store: Store, *, name: str, role: str, units_shown: str = "us", actor: Actor) -> tuple[Token, str]:
    """Give out a token; its text comes back this once and is not recorded."""
    shown = ShownToken(secrets.token_hex(6), secrets.token_urlsafe(32))
    token = Token(
        id=shown.id,
        hash=hash_secret(shown.secret),
        name=name,
        role=role,
        units_shown=units_shown,
        created_at=actor.at,
    )
    store.tokens.add(token)
    audit.created(store, actor, "token", token.id, _to_json(token))
    return token, shown.text()


def revoke(store: Store, token_id: str, *, actor: Actor) -> None:
    """End a token for good; revoking it again changes nothing. NotFound when there is none."""
    token = store.tokens.find(token_id)
    if token is None:
        raise NotFound("token", token_id)
    if store.tokens.revoke(token_id, actor.at):
        revoked = replace(token, revoked_at=actor.at)
        audit.changed(store, actor, "token", token_id, before=_to_json(token), after=_to_json(revoked))


def listed(store: Store, *, after: tuple[str, str] | None, limit: int) -> list[Token]:
    """Tokens, oldest first."""
    return store.tokens.page(after=after, limit=limit)


def recognise(store: Store, text: str) -> Token | None:
    """The token that this text opens, None when it opens none."""
    shown = read_token(text)
    token = None if shown is None else store.tokens.find(shown.id)
    return token if shown and token and shown.opens(token) else None


def _to_json(token: Token) -> dict[str, str | None]:
    revoked_at = None if token.revoked_at is None else to_text(token.revoked_at)
    return {"name": token.name, "role": token.role, "units_shown": token.units_shown, "revoked_at": revoked_at}
