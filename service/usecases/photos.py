"""Add photos to visits, remove them, read their bytes."""

from collections.abc import Mapping
from dataclasses import replace
from hashlib import sha256
from typing import Any
from uuid import UUID, uuid5

from service.domain.audit import Actor
from service.domain.errors import Conflict, Fault, Invalid, KeyReused
from service.domain.instants import to_text
from service.domain.record.photos import Photo
from service.domain.record.visits import Void
from service.storage.store import Store
from service.usecases import audit
from service.usecases.system import FleetDatabase

ABOUT = ("caption", "component", "when")  # what the client says of a photo


def named(visit_id: str, given: Mapping[str, Any], sent: bytes) -> dict[str, Any]:
    """What is posted, with an id: without one from the client the same picture of a visit is the same photo."""
    digest = sha256(sent).hexdigest()
    made = given.get("id") or str(uuid5(UUID(visit_id), digest))
    return {name: given[name] for name in ABOUT if name in given} | {
        "id": made, "visit": visit_id, "sent_sha256": digest,
    }  # fmt: skip


def stored(store: Store, new: Mapping[str, Any]) -> Photo | None:
    """The photo that is stored under this id; KeyReused where it is another one. NotFound without the visit."""
    visit = store.visits.get(new["visit"])
    known = store.photos.find(new["id"])
    if known is None:
        _check(store, visit.unit, new)
        return None
    if any(getattr(known, name) != new.get(name) for name in ("visit", "sent_sha256", *ABOUT)):
        raise KeyReused(f"The photo {known.id!r} is already stored with other content; a new photo needs a new id.")
    return known


def keep_file(store: Store, jpeg: bytes) -> str:
    """Keep the bytes, on the disk before any record names them; a folder that has gone is not begun anew."""
    if store.photos.any():
        store.photo_files.check()
    else:
        store.photo_files.begin()
    return store.photo_files.keep(jpeg)


def add(store: Store, actor: Actor, new: Mapping[str, Any], kept: Mapping[str, Any]) -> Photo:
    """Add a photo whose file is `kept` (sha256, size, width, height); the stored one where it was posted before."""
    if known := stored(store, new):
        return known
    made = Photo(**new, **kept, posted_at=actor.at, posted_by=actor.name)
    store.photos.add(made)
    audit.created(store, actor, "photo", made.id, made)
    return made


def void(store: Store, actor: Actor, photo_id: str, reason: str) -> Photo:
    """Remove a photo: it is not shown any more, and stays in the record with the reason."""
    former = store.photos.get(photo_id)
    if former.void is not None:
        raise Conflict(f"The photo {former.id!r} was removed before, on {to_text(former.void.at)}.")
    changed = replace(former, void=Void(reason=reason, by=actor.name, at=actor.at))
    store.photos.void(former.id, Void(reason=reason, by=actor.name, at=actor.at))
    audit.changed(store, actor, "photo", former.id, before=former, after=changed)
    return changed


def of_visit(store: Store, visit_id: str) -> list[Photo]:
    """The photos of a visit as they were posted; NotFound without the visit."""
    return store.photos.of_visit(store.visits.get(visit_id).id)


def check_folder(database: FleetDatabase) -> None:
    """Unavailable where there are photos and their folder is missing, or cannot be written to."""
    with database.reading() as store:
        if store.photos.any():
            store.photo_files.check()


def _check(store: Store, tag: str, new: Mapping[str, Any]) -> None:
    component = new.get("component")
    if component is not None and component not in (known := store.units.get(tag).kinds):
        message = f"the unit {tag!r} has no component {component!r}; it has {', '.join(sorted(known)) or 'none'}"
        raise Invalid([Fault("component", component, message)])
