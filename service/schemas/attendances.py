"""JSON of an attendance."""

from typing import Any, ClassVar

from marshmallow import Schema, fields, validate

from service.domain.record.attendances import ACCESS, DONE, MOST_VISITS
from service.schemas.fields import STAYS, Choice, Code, Instant, Parts, SiteTime, VisitId, line, version
from service.schemas.paging import Page, PageQuery
from service.schemas.visits import VisitAnswer, VisitTextSchema


class AttendanceSchema(Schema):
    """One arrival of ours at one site. The client chooses its id, or sends the header Idempotency-Key."""

    id = VisitId()
    site = Code(required=True, metadata=STAYS)
    crew = fields.List(
        Code(), required=True, validate=validate.Length(1, 20), metadata={"description": "the first one leads"}
    )
    arrived_at = SiteTime(past=True, required=True)
    left_at = SiteTime(past=True, allow_none=True)
    access = Choice(ACCESS, metadata={"description": "default done; without access no visit counts as performed"})
    note = line(2000, allow_none=True)
    visits = fields.List(
        fields.String(), dump_only=True, metadata={"description": "ids of its visits that count, by unit"}
    )
    posted_at = Instant(dump_only=True)
    posted_by = fields.String(dump_only=True)
    version = version()


class AttendedVisitSchema(VisitTextSchema):
    """The visit to one unit of an attendance, from which it has crew and times. Without an id it gets one."""

    class Meta:
        """What it has of the attendance."""

        exclude = ("arrived_at", "left_at", "technician", "crew", "by", "evidence", "firm")

    id = VisitId()


class AttendancePost(AttendanceSchema):
    """An attendance with the visits to the units worked on: all are stored, or nothing."""

    more_json_schema: ClassVar[dict[str, Any]] = {
        "required": ["site", "crew", "arrived_at", "id"],
        "anyOf": [
            {"properties": {"access": {"const": DONE}, "visits": {"minItems": 1}}, "required": ["visits"]},
            {
                "properties": {
                    "access": {"enum": [each for each in ACCESS if each != DONE]},
                    "visits": {"maxItems": 0},
                },
                "required": ["access"],
            },
        ],
    }

    visits = Parts(AttendedVisitSchema, most=MOST_VISITS)


class AttendancePatch(AttendanceSchema):
    """Fields of an attendance to be corrected, and why; its visits are corrected with it."""

    class Meta:
        """An id stays."""

        exclude = ("id",)

    why = line(2000, required=True)


class AttendanceAnswer(Schema):
    """A stored attendance, and each of its visits as POST /v1/visits answers."""

    attendance = fields.Nested(AttendanceSchema, required=True)
    visits = fields.List(fields.Nested(VisitAnswer), required=True)


class AttendancePage(Page):
    """A page of attendances, newest first."""

    items = fields.List(fields.Nested(AttendanceSchema), required=True)


class AttendanceQuery(PageQuery):
    """How to narrow the list of attendances."""

    site = Code()
    access = Choice(ACCESS)
    since = Instant(metadata={"description": "only arrivals at this instant or later"})
