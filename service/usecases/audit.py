"""The audit trail: every use case that changes state records here, in its own transaction."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import orjson

from service.domain.audit import NO_ENTRY, Actor, Entry, chained
from service.domain.plain import as_entered
from service.domain.record.changes import KEPT, Change
from service.storage.store import Store


def record(  # noqa: PLR0913  # one keyword for each field of an audit entry
    store: Store, actor: Actor, *, action: str, resource: str, key: str, before: str | None, after: str | None
) -> None:
    """Append who did what to which record, with its JSON text before and after.

    What past days are answered from is kept beside the trail, with the same instant. An import that brings the whole
    trail adds to it only what that trail does not account for.
    """
    if resource in KEPT and action in ("created", "changed") and after is not None:
        _keep(store, actor, Change(actor.at, actor.name, resource, key, before, after))
    if actor.importing and store.audit.is_copied and store.audit.accounts_for(resource, key, after):
        return
    store.audit.add(
        Entry(
            at=actor.at,
            actor=actor.name,
            role=actor.role,
            token_id=actor.token_id,
            technician=actor.technician,
            request_id=actor.request_id,
            action=action,
            resource=resource,
            key=key,
            before=before,
            after=after,
        )
    )


def _keep(store: Store, actor: Actor, new: Change) -> None:
    """Add to a history; an import adds only what it has not brought, and of a call the last state at its end."""
    if actor.importing and new.resource == "call":
        store.changes.unsettled.add(new.key)
        return
    known = store.changes.last_made(new.resource, *_keys(store, new)) if actor.importing else None
    if known is None or orjson.loads(known) != orjson.loads(new.after):
        store.changes.add(new)


def _keys(store: Store, new: Change) -> list[str]:
    """The key of a change; of a unit's setting also those with its former tags."""
    if new.resource != "unit_task":
        return [new.key]
    tag, _, task = new.key.rpartition("/")
    return [new.key, *(f"{former}/{task}" for former in store.tags.of(tag))]


def created(store: Store, actor: Actor, resource: str, key: str, after: Any) -> None:
    """Record that a resource was created."""
    record(store, actor, action="created", resource=resource, key=key, before=None, after=text_of(after))


def changed(store: Store, actor: Actor, resource: str, key: str, *, before: Any, after: Any) -> None:
    """Record that a resource was changed."""
    record(store, actor, action="changed", resource=resource, key=key, before=text_of(before), after=text_of(after))


def deleted(store: Store, actor: Actor, resource: str, key: str, before: Any) -> None:
    """Record that a resource was deleted."""
    record(store, actor, action="deleted", resource=resource, key=key, before=text_of(before), after=None)


def imported(store: Store, actor: Actor, resource: str, key: str, *, before: str | None, after: str) -> None:
    """Record that the caller imported this now; who made it, and when, stands in `after`."""
    record(store, actor, action="imported", resource=resource, key=key, before=before, after=after)


def refused(store: Store, actor: Actor, route: str, after: Mapping[str, Any]) -> None:
    """Record that the holder of a token was refused: at which route, why, and at which address."""
    record(store, actor, action="refused", resource="route", key=route, before=None, after=text_of(after))


def text_of(resource: Any) -> str:
    """A resource as the JSON text that the trail keeps."""
    return orjson.dumps(resource if isinstance(resource, dict) else as_entered(resource)).decode()


@dataclass(frozen=True, slots=True)
class Proof:
    """What a check of the chain found: how many entries fit, the last hash, the first fault if there is one.

    `noted` is the place in the chain of the hash that was asked for, None where the chain does not hold it.
    """

    entries: int
    head: str
    noted: int | None
    fault: str | None


def verify(store: Store, noted: str | None = None) -> Proof:
    """Calculate the hash of every entry anew, up to the first that does not fit."""
    count, head, place = 0, NO_ENTRY, None
    for number, identity, kept, entry in store.audit.chain():
        fault = _fault(number, identity, kept, entry, expected=count + 1, head=head)
        if fault:
            return Proof(count, head, place, fault)
        count, head = number, kept
        if head == noted:
            place = count
    missing = store.audit.unchained()
    fault = None if missing is None else f"entry {missing} is not in the chain"
    return Proof(count, head, place, fault)


def _fault(  # what a link holds, and what it should
    number: int, identity: int, kept: str, entry: Entry | None, *, expected: int, head: str
) -> str | None:
    if number != expected:
        return f"link {expected} of the chain is missing; the next is {number}, of entry {identity}"
    if entry is None:
        return f"entry {identity}, link {number} of the chain, is missing"
    if chained(head, entry) != kept:
        return f"entry {identity}, link {number} of the chain, does not fit: it or its hash was changed"
    return None
