"""The audit trail: every use case that changes state records here, in its own transaction."""

from typing import Any

import orjson

from service.domain.audit import Actor, AuditFilter, Entry
from service.domain.plain import as_entered
from service.storage.store import Store


def record(  # noqa: PLR0913  # one keyword for each thing that an audit must tell
    store: Store, actor: Actor, *, action: str, noun: str, key: str, before: str | None, after: str | None
) -> None:
    """Append who did what to which record, with its JSON text before and after."""
    store.audit.add(
        Entry(
            at=actor.at,
            actor=actor.name,
            role=actor.role,
            request_id=actor.request_id,
            action=action,
            noun=noun,
            key=key,
            before=before,
            after=after,
        )
    )


def made(store: Store, actor: Actor, noun: str, key: str, after: Any) -> None:
    """Record that a noun was made."""
    record(store, actor, action="made", noun=noun, key=key, before=None, after=_text(after))


def changed(store: Store, actor: Actor, noun: str, key: str, *, before: Any, after: Any) -> None:
    """Record that a noun was changed."""
    record(store, actor, action="changed", noun=noun, key=key, before=_text(before), after=_text(after))


def _text(noun: Any) -> str:
    return orjson.dumps(noun if isinstance(noun, dict) else as_entered(noun)).decode()


def entries(store: Store, asked: AuditFilter, *, before: int | None, limit: int) -> list[Entry]:
    """Recorded changes, newest first."""
    return store.audit.page(asked, before=before, limit=limit)
