"""Tokens as lines of a file, with the hashes of their secrets: exported and imported on request at the command line."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid
from service.domain.instants import to_text
from service.domain.tokens import Token
from service.storage.store import Store
from service.usecases import audit, tokens
from service.usecases.record.line_authors import check_not_ahead

CHUNK = 200
INSTANTS = ("created_at", "expires_at", "revoked_at", "last_used_at")
FIELDS = ("id", "hash", "name", "role", "units_shown", "technician", *INSTANTS)


def lines(store: Store) -> Iterator[dict[str, Any]]:
    """All tokens, oldest first, those that have ended too."""
    after: tuple[str, str] | None = None
    while found := store.tokens.page(after=after, limit=CHUNK):
        for each in found:
            shown = {name: getattr(each, name) for name in FIELDS}
            shown |= {name: at and to_text(at) for name in INSTANTS for at in [shown[name]]}
            yield {"record": "token", **{name: value for name, value in shown.items() if value is not None}}
        after = to_text(found[-1].created_at), found[-1].id


def take(store: Store, actor: Actor, line: Mapping[str, Any]) -> str:
    """Store a token: "added", or "unchanged" where it is known, so that a revoked one stays revoked.

    A known one that the line has as revoked is revoked here too: "changed". Its role and name stay.
    """
    new = Token(**line)
    for name in ("created_at", "revoked_at"):
        check_not_ahead(actor, name, line)
    known = store.tokens.find(new.id)
    if known is not None:
        if known.hash != new.hash:
            raise Invalid([Fault("id", new.id, "is the id of another token")])
        return _revoked(store, actor, known, new)
    technician_id = None if new.technician is None else store.technicians.id_of(new.technician)
    if new.technician is not None and technician_id is None:
        raise Invalid([Fault("technician", new.technician, f"there is no technician {new.technician!r}")])
    store.tokens.add(new, technician_id=technician_id)
    audit.imported(store, actor, "token", new.id, before=None, after=audit.text_of(tokens.recorded(new)))
    return "added"


def _revoked(store: Store, actor: Actor, known: Token, new: Token) -> str:
    if new.revoked_at is None or not store.tokens.revoke(known.id, new.revoked_at):
        return "unchanged"
    ended = replace(known, revoked_at=new.revoked_at)
    before, after = (audit.text_of(tokens.recorded(each)) for each in (known, ended))
    audit.imported(store, actor, "token", known.id, before=before, after=after)
    return "changed"
