"""JSON of the photos of visits."""

import re
from typing import Any

from marshmallow import Schema, fields, validate

from service.domain.plain import to_plain
from service.domain.record.photos import LARGEST_KEPT, LONGEST_EDGE, Photo
from service.domain.record.visits import MOMENTS
from service.schemas.fields import Choice, Code, Instant, Parsed, VisitId, line
from service.schemas.visits import VoidedSchema

LONGEST_PICTURE = LARGEST_KEPT * 4 // 3 + 4  # in base 64
DIGEST_SCHEMA = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
HEXADECIMAL = re.compile("[0-9a-f]{64}")
NARROWEST = 64  # pixels
DIGEST = {"description": "SHA-256 of the JPEG as it is kept, in hexadecimal"}


class Digest(Parsed):
    """A SHA-256 in hexadecimal."""

    json_schema = DIGEST_SCHEMA

    @staticmethod
    def read(value: Any) -> str:
        """The digest itself."""
        if isinstance(value, str) and HEXADECIMAL.fullmatch(value):
            return value
        raise ValueError("a SHA-256 in hexadecimal, 64 digits")


class AboutPhoto(Schema):
    """What a photo shows."""

    caption = line(300)
    component = Code(metadata={"description": "the component that it shows"})
    when = Choice(MOMENTS)


class PhotoQuery(AboutPhoto):
    """The photo's id and what it shows; the body is the picture."""

    id = VisitId(metadata={"description": "made by the client; without it the same picture of a visit is one photo"})


class ImageQuery(Schema):
    """How large the picture shall be."""

    width = fields.Integer(
        validate=validate.Range(NARROWEST, LONGEST_EDGE), metadata={"description": "at most so many pixels wide"}
    )


class ExportQuery(Schema):
    """Whether the lines of photos have their pictures, and whether the audit trail is exported."""

    pictures = fields.Boolean(
        load_default=True, metadata={"description": "false: the lines of photos have none; copy the folder of photos"}
    )
    trail = fields.Boolean(load_default=True, metadata={"description": "false: without the audit trail"})


class PhotoSchema(Schema):
    """A photo of a visit, without its bytes."""

    id = VisitId(required=True)
    visit = VisitId(required=True)
    sha256 = Digest(required=True, metadata=DIGEST)
    sent_sha256 = Digest(required=True, metadata={"description": "SHA-256 of the picture as it was sent"})
    size = fields.Integer(required=True, metadata={"description": "bytes as it is kept"})
    width = fields.Integer(required=True, metadata={"description": "pixels"})
    height = fields.Integer(required=True, metadata={"description": "pixels"})
    caption = line(300, required=True, allow_none=True)
    component = Code(required=True, allow_none=True)
    when = Choice(MOMENTS, required=True, allow_none=True)
    posted_at = Instant(required=True)
    posted_by = fields.String(required=True)
    void = fields.Nested(VoidedSchema, required=True, allow_none=True)


class PhotoList(Schema):
    """The photos of a visit."""

    items = fields.List(fields.Nested(PhotoSchema), required=True)


class RemovalSchema(Schema):
    """Why the photo is removed."""

    reason = line(2000, required=True)


class PhotoVoidRecord(RemovalSchema):
    """The removal of a photo, by whom and when."""

    at = Instant(required=True)
    by = line(required=True)


class PhotoRecord(AboutPhoto):
    """A photo with its picture in base 64; null where the file was missing when it was exported."""

    id = VisitId(required=True)
    visit = VisitId(required=True)
    sha256 = Digest(required=True)
    sent_sha256 = Digest(required=True)
    content = line(LONGEST_PICTURE, required=True, allow_none=True)
    posted_at = Instant()
    posted_by = line()
    void = fields.Nested(PhotoVoidRecord)


def shown_photo(photo: Photo) -> dict[str, Any]:
    """A photo as JSON, its instants in UTC."""
    document: dict[str, Any] = to_plain(photo, nulls=True)
    return document
