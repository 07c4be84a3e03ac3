"""JSON of an assignment."""

from typing import Any, ClassVar

from marshmallow import Schema, fields

from service.schemas.fields import Choice, Code, Day, Instant, line, version
from service.schemas.paging import Page, PageQuery
from service.schemas.visits import TASK_WORDS

NO = {"type": "null"}
TEXT = {"type": "string"}
BY_SOMEBODY = {
    "required": ["technician", "day"],
    "properties": {"technician": TEXT, "day": TEXT, "postponed_to": NO},
}
POSTPONED = {
    "required": ["postponed_to", "why"],
    "properties": {"postponed_to": TEXT, "why": TEXT, "technician": NO, "day": NO},
}
AT_A_UNIT = {"required": ["unit"], "properties": {"unit": TEXT}}


class AssignmentSchema(Schema):
    """The work at a site, a unit or of one task there: to a technician on a day, or postponed with a reason."""

    more_json_schema: ClassVar[dict[str, Any]] = {
        "allOf": [
            {"anyOf": [BY_SOMEBODY, POSTPONED]},
            {"anyOf": [AT_A_UNIT, {"properties": {"task": NO}}]},  # a task is assigned at a unit
        ]
    }

    id = fields.Integer(dump_only=True)
    site = Code(required=True)
    unit = Code(allow_none=True)
    task = Choice(TASK_WORDS, allow_none=True)
    technician = Code(allow_none=True)
    day = Day(coming=True, allow_none=True)
    postponed_to = Day(coming=True, allow_none=True)
    why = line(2000, allow_none=True)
    note = line(2000, allow_none=True, metadata={"description": "an owner's reason to go beyond a task's outer limit"})
    posted_at = Instant(dump_only=True)
    posted_by = fields.String(dump_only=True)
    version = version()


class AssignmentPage(Page):
    """A page of assignments, as they were made."""

    items = fields.List(fields.Nested(AssignmentSchema), required=True)


class AssignmentQuery(PageQuery):
    """How to narrow the list of assignments."""

    site = Code()
    technician = Code()
