"""Photos: their bytes, the form that adds one to a visit, and its removal."""

import orjson
from flask import Response, request
from werkzeug.datastructures import FileStorage
from werkzeug.exceptions import Unauthorized

from service.api.auth import STAFF
from service.api.photos import add, image, require_kind, visit_id_of
from service.api.state import actor, database
from service.domain.errors import Fault, Invalid
from service.domain.record.photos import LARGEST
from service.schemas.photos import ImageQuery, PhotoQuery, RemovalSchema
from service.schemas.reading import read
from service.usecases.record import photos
from service.web.page import Pages, see_other, wants_json
from service.web.visits import OTHER_WRITER, writer

LARGEST_FORM = LARGEST + 64 * 1024  # the picture, and what is written beside it
pages = Pages("photos")


@pages.get("/photos/<photo_id>", allow=STAFF)
def photo(photo_id: str) -> Response:
    """A photo as it is kept, or at most so many pixels wide."""
    return image(photo_id, read(ImageQuery(), request.args.to_dict()).get("width"))


@pages.post("/visits/<visit_id>/photos", allow=STAFF, most=LARGEST_FORM)
def add_photos(visit_id: str) -> Response:
    """Add the pictures of a form; its id is that of the first, so that sending it again makes no second photo."""
    request.max_content_length = LARGEST_FORM
    if request.form.get("writer", writer()) != writer():
        raise Unauthorized(OTHER_WRITER)
    chosen = [each for each in request.files.getlist("photo") if each.filename]
    if not chosen:
        raise Invalid([Fault("photo", None, "choose a picture")])
    about = {name: text for name in ("id", "caption", "component", "when") if (text := request.form.get(name, ""))}
    given = read(PhotoQuery(), about)
    visit, others = visit_id_of(visit_id), {name: text for name, text in given.items() if name != "id"}
    made = [add(visit, others if n else given, _sent(each)).id for n, each in enumerate(chosen)]
    if wants_json():
        small = orjson.dumps({"id": made[0], "path": f"/visits/{visit_id}"})
        return Response(small, 201, content_type="application/json")
    return see_other(f"/visits/{visit_id}#photos")


@pages.post("/photos/<photo_id>/void", allow=STAFF)
def remove_photo(photo_id: str) -> Response:
    """Remove a photo with a reason; it stays in the record."""
    reason = read(RemovalSchema(), {"reason": request.form.get("reason", "").strip()})["reason"]
    with database().writing() as store:
        removed = photos.void(store, actor(), photo_id.lower(), reason)
    return see_other(f"/visits/{removed.visit}#photos")


def _sent(chosen: FileStorage) -> bytes:
    """A picture of a form; 415 with a hint where it is none. A browser takes its type from the file's name."""
    sent = chosen.stream.read()
    require_kind(sent, None)
    return sent
