"""JSON of a unit's history: one timeline, newest first."""

from marshmallow import Schema, fields

from service.domain.record.history import EVENTS
from service.schemas.fields import Choice, Instant
from service.schemas.paging import Page, PageQuery
from service.schemas.units import Shown


class TimelineEventSchema(Schema):
    """One event; `recorded` holds its record, in the shape of the part of the visit or unit."""

    event = Choice(EVENTS, required=True)
    at = Instant(
        shown=True,
        required=True,
        metadata={"description": "by the site's clock; about noon where only the day is known"},
    )
    visit = fields.String(allow_none=True, required=True, metadata={"description": "the visit that recorded it"})
    void = fields.Boolean(required=True, metadata={"description": "true: the visit was voided and does not count"})
    remark = fields.String(
        allow_none=True,
        required=True,
        metadata={"description": "what follows from other events, such as the warranty of an item that failed"},
    )
    recorded = fields.Dict(required=True)


class History(Page):
    """A page of the timeline."""

    items = fields.List(fields.Nested(TimelineEventSchema), required=True)


class HistoryQuery(PageQuery, Shown):
    """How much of the timeline, and in which units."""
