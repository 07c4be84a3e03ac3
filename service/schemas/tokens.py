"""JSON of tokens."""

from marshmallow import Schema, fields

from service.domain.record.fleet import UNIT_SYSTEMS
from service.domain.tokens import ROLES
from service.schemas.fields import Choice, Code, Instant, line
from service.schemas.paging import Page
from service.schemas.photos import Digest


class TokenSchema(Schema):
    """A token as recorded; `token` is its text, returned only by the answer that creates it."""

    id = fields.String(dump_only=True)
    name = line(100, required=True, metadata={"description": "name of its holder, as recorded in the audit trail"})
    role = Choice(ROLES, required=True)
    units_shown = Choice(UNIT_SYSTEMS, load_default="us")
    technician = Code(
        allow_none=True,
        metadata={"description": "whose token it is: it posts visits as this technician and ends when they leave"},
    )
    expires_at = Instant(allow_none=True, metadata={"description": "from when on it opens nothing"})
    created_at = Instant(dump_only=True)
    last_used_at = Instant(
        dump_only=True, allow_none=True, metadata={"description": "to the hour; null while it was never used"}
    )
    revoked_at = Instant(dump_only=True, allow_none=True)
    token = fields.String(dump_only=True)


class TokenRecord(Schema):
    """A token in a file, with the hash of its secret; the secret itself is stored nowhere."""

    id = line(64, required=True)
    hash = Digest(required=True)
    name = line(100, required=True)
    role = Choice(ROLES, required=True)
    units_shown = Choice(UNIT_SYSTEMS, required=True)
    technician = Code()
    created_at = Instant(required=True)
    expires_at = Instant()
    revoked_at = Instant()
    last_used_at = Instant()


class TokenPage(Page):
    """A page of tokens."""

    items = fields.List(fields.Nested(TokenSchema), required=True)
