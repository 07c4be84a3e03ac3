"""JSON of a call."""

from typing import Any, ClassVar

from marshmallow import Schema, fields, validate

from service.domain.record.calls import PHONE_ADVICE, STATES, URGENCIES
from service.domain.record.visits import SYMPTOMS
from service.schemas.fields import Choice, Code, Day, Instant, SiteTime, VisitId, Whole, line, version
from service.schemas.paging import Page, PageQuery
from service.schemas.times import INSTANT_SCHEMA

WITH_OFFSET = {name: INSTANT_SCHEMA[name] for name in ("type", "format", "pattern")}

DUE = (
    "how soon somebody must be there; default today. Without a promised window the call is due on the day it was "
    "received, this_week 7 and can_wait 30 days later"
)


class CalledBySchema(Schema):
    """Who called."""

    name = line(allow_none=True)
    phone = line(allow_none=True)


PromisedSchema = Schema.from_dict(
    {"from": SiteTime(required=True), "until": SiteTime(required=True)}, name="PromisedSchema"
)
PromisedSchema.__doc__ = "The time in which the customer was promised somebody."


class CallSchema(Schema):
    """A customer's call. The client chooses its id; a client that sends the header Idempotency-Key may leave it out."""

    more_json_schema: ClassVar[dict[str, Any]] = {"required": ["received_at", "symptom", "id"]}

    id = VisitId()
    received_at = SiteTime(required=True)
    by = Whole(CalledBySchema, allow_none=True)
    site = Code(allow_none=True, metadata={"description": "left out where it is not known, or where the unit is given"})
    unit = Code(allow_none=True)
    symptom = Choice(SYMPTOMS, required=True)
    words = line(4000, allow_none=True)
    urgency = Choice(URGENCIES, metadata={"description": DUE})
    skills = fields.List(
        Code(),
        validate=validate.Length(max=50),
        metadata={"description": "what whoever goes there must have, such as refrigerant"},
    )
    promised = Whole(PromisedSchema, allow_none=True)
    technician = Code(allow_none=True, metadata={"description": "who goes there: the call is assigned"})
    day = Day(allow_none=True, metadata={"description": "when the technician goes there"})
    state = Choice(STATES, metadata={"description": "a visit that names the call in `calls` answers it"})
    how = Choice((PHONE_ADVICE, "visit"), allow_none=True, metadata={"description": "how it was answered"})
    at = SiteTime(allow_none=True, metadata={"description": "when it was answered or cancelled; default now"})
    why = line(2000, allow_none=True, metadata={"description": "why it was cancelled"})
    advice = line(4000, allow_none=True, metadata={"description": "what was advised by phone"})
    visit = fields.String(dump_only=True, allow_none=True, metadata={"description": "the visit that answered it"})
    posted_at = Instant(dump_only=True)
    posted_by = fields.String(dump_only=True)
    version = version()


class CallPost(CallSchema):
    """A new call. Without a site or unit whose clock they could go by, its times need an offset."""

    more_json_schema: ClassVar[dict[str, Any]] = CallSchema.more_json_schema | {
        "anyOf": [
            *({"properties": {name: {"type": "string"}}, "required": [name]} for name in ("site", "unit")),
            {
                "properties": {
                    "received_at": WITH_OFFSET,
                    "at": {"anyOf": [WITH_OFFSET, {"type": "null"}]},
                    "promised": {"properties": {"from": WITH_OFFSET, "until": WITH_OFFSET}},
                }
            },
        ]
    }


class CallPage(Page):
    """A page of calls, newest first."""

    items = fields.List(fields.Nested(CallSchema), required=True)


class CallQuery(PageQuery):
    """How to narrow the list of calls."""

    state = Choice(STATES)
    site = Code()
    unit = Code()
    since = Instant(metadata={"description": "only calls received at this instant or later"})
