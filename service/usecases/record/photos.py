"""Add photos to visits, remove them, read their bytes."""

from base64 import b64decode, b64encode
from collections.abc import Mapping
from dataclasses import replace
from hashlib import sha256
from typing import Any
from uuid import UUID, uuid5

from service.domain.audit import Actor
from service.domain.errors import Conflict, Fault, Invalid, KeyReused, Unavailable
from service.domain.instants import to_text
from service.domain.messages import gettext, joined, term
from service.domain.plain import to_plain
from service.domain.record.photos import Photo
from service.domain.record.visits import Void
from service.storage.store import Store
from service.usecases import audit
from service.usecases.record import pictures
from service.usecases.system import FleetDatabase

Record = dict[str, Any]
OF_THE_FILE = ("size", "width", "height", "posted_at", "void")
MOST_IN_REPORT, REPORT_WIDTH = 6, 480  # photos, pixels
ABOUT = ("caption", "component", "when")  # what the client says of a photo


def named(visit_id: str, given: Mapping[str, Any], sent: bytes) -> Record:
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


def of_report(store: Store, visit_id: str) -> list[tuple[str, bytes]]:
    """The photos of a visit's report, as found before as left: what each shows, and a small JPEG; the first few."""
    there = [each for each in of_visit(store, visit_id) if each.void is None]
    shown = sorted(there, key=lambda each: each.when == "as_left")[:MOST_IN_REPORT]
    return [(words_of(each), pictures.thumbnail(store.photo_files.read(each.sha256), REPORT_WIDTH)) for each in shown]


def words_of(photo: Photo) -> str:
    """What is written beside a photo.

    >>> from datetime import UTC, datetime
    >>> words_of(Photo(id="", visit="", sha256="", sent_sha256="", size=1, width=1, height=1, caption="the coil",
    ...     when="as_left", posted_at=datetime(2026, 6, 9, tzinfo=UTC), posted_by="Rhea"))
    'The coil, as left'
    """
    named = photo.caption or photo.component or ""
    named = named[:1].upper() + named[1:]
    if photo.when is None:
        return named or gettext("A photo of the visit")
    return joined((named, term(photo.when)), ", ") if named else term(photo.when.capitalize())


def line_of(store: Store, photo: Photo, *, picture: bool = True) -> Record:
    """A photo as a line of an export, its picture in base 64; null where none is wanted, or the file is damaged."""
    about = {name: part for name, part in to_plain(photo).items() if name not in OF_THE_FILE}
    made: Record = {"posted_at": to_text(photo.posted_at)}
    if photo.void is not None:
        made["void"] = {"reason": photo.void.reason, "by": photo.void.by, "at": to_text(photo.void.at)}
    return {"record": "photo", **about, **made, "content": _content(store, photo) if picture else None}


def _content(store: Store, photo: Photo) -> str | None:
    try:
        content = store.photo_files.read(photo.sha256)
    except Unavailable:
        return None  # the line says so, and its import is refused unless the file is there
    return b64encode(content).decode() if sha256(content).hexdigest() == photo.sha256 else None


def take(store: Store, actor: Actor, line: Mapping[str, Any], *, keep: bool = True) -> str:
    """Store the photo of an import line: "added", "changed" (removed in the file), or "unchanged".

    Where nothing is to stay stored, its file is not kept: no transaction takes a file back.
    """
    store.visits.flush()  # of earlier lines
    new = {name: part for name, part in line.items() if name not in ("content", "void", "posted_at", "posted_by")}
    void = Void(**line["void"]) if "void" in line else None
    if known := stored(store, {name: part for name, part in new.items() if name != "sha256"}):
        if void is None or known.void is not None:
            return "unchanged"
        store.photos.void(known.id, void)
        _imported(store, actor, known, replace(known, void=void))
        return "changed"
    jpeg = _picture(store, line)
    if keep:
        keep_file(store, jpeg)
    width, height = pictures.size_of(jpeg)
    posted = {"posted_at": line.get("posted_at", actor.at), "posted_by": line.get("posted_by", actor.name)}
    made = Photo(**new, size=len(jpeg), width=width, height=height, void=void, **posted)
    store.photos.add(made)
    _imported(store, actor, None, made)
    return "added"


def _picture(store: Store, line: Mapping[str, Any]) -> bytes:
    """The picture of a line; where the line has none, that of the file that is there already."""
    try:
        given = line["content"]
        jpeg = store.photo_files.read(line["sha256"]) if given is None else b64decode(given, validate=True)
        pictures.check_kept(jpeg)
    except (ValueError, Unavailable) as fault:
        raise Invalid([Fault("content", None, f"the picture: {fault}")]) from fault
    if sha256(jpeg).hexdigest() != line["sha256"]:
        raise Invalid([Fault("sha256", line["sha256"], "is not the SHA-256 of the picture")])
    return jpeg


def _imported(store: Store, actor: Actor, former: Photo | None, made: Photo) -> None:
    before = None if former is None else audit.text_of(former)
    audit.imported(store, actor, "photo", made.id, before=before, after=audit.text_of(made))


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
