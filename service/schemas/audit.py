"""JSON of the audit trail."""

from marshmallow import Schema, fields, validate

from service.schemas.fields import Count, Instant, line
from service.schemas.paging import Page, PageQuery
from service.schemas.photos import Digest

LONGEST_TEXT = 4 * 1024 * 1024
RECORDED = {"type": "object", "description": "the record as entered; null where there was or is none"}


class AuditQuery(PageQuery):
    """Which changes are asked for."""

    resource = line(64, metadata={"description": "the kind of record, such as unit"})
    key = line(200, metadata={"description": "the record's code, tag or id"})
    actor = line(100)
    since = Instant(metadata={"description": "not before this instant"})
    until = Instant(metadata={"description": "before this instant"})


class AuditEntrySchema(Schema):
    """One change."""

    id = fields.Integer(required=True)
    at = Instant(required=True)
    actor = fields.String(required=True)
    role = fields.String(required=True)
    token_id = fields.String(required=True, allow_none=True)
    technician = fields.String(required=True, allow_none=True, metadata={"description": "whose token it was"})
    request_id = fields.String(required=True, allow_none=True)
    action = fields.String(required=True)
    resource = fields.String(required=True)
    key = fields.String(required=True)
    before = fields.Raw(required=True, allow_none=True, metadata=RECORDED)
    after = fields.Raw(required=True, allow_none=True, metadata=RECORDED)
    hash = fields.String(required=True, allow_none=True, metadata={"description": "chains it to the entry before it"})


class AuditRecord(Schema):
    """An entry of the audit trail in a file; `before` and `after` are JSON texts, as its hash was made of them."""

    id = Count(required=True, validate=validate.Range(1, 2**53))
    at = Instant(required=True)
    actor = line(1000, required=True)
    role = line(required=True)
    token_id = line()
    technician = line()
    request_id = line()
    action = line(required=True)
    resource = line(required=True)
    key = line(1000, required=True)
    before = line(LONGEST_TEXT, shortest=0)
    after = line(LONGEST_TEXT, shortest=0)
    hash = Digest(required=True)


class AuditPage(Page):
    """A page of changes, newest first."""

    items = fields.List(fields.Nested(AuditEntrySchema), required=True)
