"""Routes of the photos of visits."""

from collections.abc import Mapping
from typing import Any

from flask import Response, g, request
from werkzeug.exceptions import Forbidden, UnsupportedMediaType

from service.api import wire
from service.api.auth import OFFICE, STAFF
from service.api.endpoint import Answer, Routes
from service.api.state import actor, caller, database, state
from service.domain.errors import Conflict, Fault, Invalid, NotFound
from service.domain.instants import to_text
from service.domain.record.photos import LARGEST, Photo
from service.schemas.fields import parse_uuid
from service.schemas.photos import ImageQuery, PhotoList, PhotoQuery, PhotoSchema, RemovalSchema, shown_photo
from service.usecases.record import photos, pictures

Body = Mapping[str, Any]
BINARY = {"type": "string", "format": "binary"}
JPEG = pictures.MEDIA
FOR_A_YEAR = "private, max-age=31536000, immutable"  # the bytes under an id never change
routes = Routes("photos")


@routes.post(
    "/v1/visits/{id}/photos",
    allow=STAFF,
    query=PhotoQuery,
    body_media=dict.fromkeys(pictures.KINDS, BINARY),
    most=lambda _: LARGEST,
    answers={201: Answer(PhotoSchema, headers=("Location",))},
)
def post_photo(id: str, query: Body) -> Response:  # noqa: A002 - the path's own name
    """Add a photo to a visit: the body is a JPEG, PNG or WebP of at most 8 MiB. Posting it again makes no second one.

    It is kept upright, at most 2048 pixels long, without location and all else that a camera writes beside the picture.
    """
    sent = _sent()
    made = add(visit_id_of(id), query, sent)
    return wire.answer(shown_photo(made), 201, {"Location": f"/v1/photos/{made.id}"})


@routes.get("/v1/visits/{id}/photos", allow=STAFF, answers={200: Answer(PhotoList)})
def list_photos(id: str) -> dict[str, Any]:  # noqa: A002 - the path's own name
    """List the photos of a visit as they were posted, the removed ones with the reason."""
    with database().reading() as store:
        found = photos.of_visit(store, id.lower())
    return {"items": [shown_photo(each) for each in found]}


@routes.get(
    "/v1/photos/{id}",
    allow=STAFF,
    query=ImageQuery,
    answers={200: Answer(media={JPEG: BINARY}, headers=("ETag",))},
)
def get_photo(id: str, query: Body) -> Response:  # noqa: A002 - the path's own name
    """Get a photo as a JPEG. A removed one is for the office only."""
    return image(id, query.get("width"))


@routes.post("/v1/photos/{id}/void", allow=STAFF, body=RemovalSchema, answers={200: Answer(PhotoSchema)})
def void_photo(id: str, body: Body) -> dict[str, Any]:  # noqa: A002 - the path's own name
    """Remove a photo: it is not shown any more, and stays in the record with the reason."""
    with database().writing() as store:
        return shown_photo(photos.void(store, actor(), id.lower(), body["reason"]))


def add(visit_id: str, given: Body, sent: bytes) -> Photo:
    """Add a picture to a visit. The same one again is the stored photo; it is not decoded a second time."""
    new = photos.named(visit_id, given, sent)
    with database().reading() as store:
        if known := photos.stored(store, new):
            return known
    try:
        jpeg = state().computing.run(pictures.to_jpeg, sent)
    except pictures.NotAPicture as fault:
        raise Invalid([Fault("body", None, f"the picture {fault}")]) from fault
    width, height = pictures.size_of(jpeg)
    with database().reading() as store:
        name = photos.keep_file(store, jpeg)
    kept = {"sha256": name, "size": len(jpeg), "width": width, "height": height}
    try:
        return _stored(new, kept)
    except Conflict:  # on PostgreSQL the same one may have been stored at the same moment
        return _stored(new, kept)


def _stored(new: Body, kept: Body) -> Photo:
    with database().writing() as store:
        return photos.add(store, actor(), new, kept)


def image(photo_id: str, width: int | None) -> Response:
    """The bytes of a photo, at most so many pixels wide; 304 for a caller who has them."""
    with database().reading() as store:
        found, files = store.photos.get(photo_id.lower()), store.photo_files
    if found.void is not None and caller().role not in OFFICE:
        raise Forbidden(f"This photo was removed on {to_text(found.void.at)[:10]}: {found.void.reason}")
    tag = f"{found.sha256}-{width}" if width else found.sha256
    caching = {"Cache-Control": "no-store" if found.void else FOR_A_YEAR}
    g.own_headers = {**g.get("own_headers", {}), **caching}
    if tag in request.if_none_match:
        return Response(status=304, headers={"ETag": f'"{tag}"'})
    content = files.read(found.sha256)
    shown = content if width is None else pictures.thumbnail(content, width)
    return Response(shown, headers={"ETag": f'"{tag}"', "Content-Disposition": "inline"}, content_type=JPEG)


def visit_id_of(text: str) -> str:
    """A visit's id from a path; 404 for what is none."""
    try:
        return parse_uuid(text)
    except ValueError as fault:
        raise NotFound("visit", text) from fault


def _sent() -> bytes:
    """The body of a picture; 415 where it is not of the type that is said, with a hint for HEIC."""
    declared = request.mimetype
    if declared in ("image/heic", "image/heif"):
        raise UnsupportedMediaType(pictures.HEIC_HINT)
    if declared not in pictures.KINDS:
        raise UnsupportedMediaType(f"The body must be {', '.join(pictures.KINDS)}, not {declared[:100] or 'untyped'}.")
    if request.headers.get("Content-Encoding", "identity") != "identity":
        raise UnsupportedMediaType("Send the body uncompressed.")
    sent = wire.raw_body(LARGEST)
    require_kind(sent, declared)
    return sent


def require_kind(sent: bytes, declared: str | None) -> None:
    """415 where the first bytes are no picture, or not of the type that is said, with a hint for HEIC."""
    kind = pictures.kind_of(sent)
    if kind == "HEIC":
        raise UnsupportedMediaType(pictures.HEIC_HINT)
    if kind is None:
        raise UnsupportedMediaType("The body is no picture that can be read: send a JPEG, PNG or WebP.")
    if declared is not None and kind != pictures.KINDS.get(declared):
        raise UnsupportedMediaType(f"The body is {kind}, not {declared[:100]} as its type says.")
