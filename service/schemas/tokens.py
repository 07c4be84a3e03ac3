"""JSON of tokens."""

from marshmallow import Schema, fields

from service.domain.record.fleet import UNIT_SYSTEMS
from service.domain.tokens import ROLES
from service.schemas.fields import Choice, Instant, line
from service.schemas.paging import Page


class TokenSchema(Schema):
    """A token as recorded; `token` is its text, returned only by the answer that creates it."""

    id = fields.String(dump_only=True)
    name = line(100, required=True, metadata={"description": "name of its holder, as recorded in the audit trail"})
    role = Choice(ROLES, required=True)
    units_shown = Choice(UNIT_SYSTEMS, load_default="us")
    created_at = Instant(dump_only=True)
    revoked_at = Instant(dump_only=True, allow_none=True)
    token = fields.String(dump_only=True)


class TokenPage(Page):
    """A page of tokens."""

    items = fields.List(fields.Nested(TokenSchema), required=True)
