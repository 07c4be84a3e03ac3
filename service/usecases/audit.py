"""The audit trail: every use case that changes state records here, in its own transaction."""

from typing import Any

import orjson

from service.domain.audit import Actor, AuditFilter, Entry
from service.domain.plain import as_entered
from service.storage.store import Store


def record(  # noqa: PLR0913  # one keyword for each field of an audit entry
    store: Store, actor: Actor, *, action: str, resource: str, key: str, before: str | None, after: str | None
) -> None:
    """Append who did what to which record, with its JSON text before and after."""
    store.audit.add(
        Entry(
            at=actor.at,
            actor=actor.name,
            role=actor.role,
            request_id=actor.request_id,
            action=action,
            resource=resource,
            key=key,
            before=before,
            after=after,
        )
    )


def created(store: Store, actor: Actor, resource: str, key: str, after: Any) -> None:
    """Record that a resource was created."""
    record(store, actor, action="created", resource=resource, key=key, before=None, after=_text(after))


def changed(store: Store, actor: Actor, resource: str, key: str, *, before: Any, after: Any) -> None:
    """Record that a resource was changed."""
    record(store, actor, action="changed", resource=resource, key=key, before=_text(before), after=_text(after))


def _text(resource: Any) -> str:
    return orjson.dumps(resource if isinstance(resource, dict) else as_entered(resource)).decode()


def entries(store: Store, asked: AuditFilter, *, before: int | None, limit: int) -> list[Entry]:
    """Recorded changes, newest first."""
    return store.audit.page(asked, before=before, limit=limit)
