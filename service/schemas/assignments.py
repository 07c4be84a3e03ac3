"""JSON of an assignment."""

from typing import Any, ClassVar

from marshmallow import Schema, fields

from service.schemas.fields import Choice, Code, Day, Instant, line, version
from service.schemas.paging import Page, PageQuery
from service.schemas.visits import TASK_WORDS


def _all_of(*names: str) -> dict[str, Any]:
    return {"required": list(names), "properties": {name: {"type": "string"} for name in names}}


class AssignmentSchema(Schema):
    """The work at a site, a unit or of one task there: to a technician on a day, or postponed with a reason."""

    more_json_schema: ClassVar[dict[str, Any]] = {
        "anyOf": [_all_of("technician", "day"), _all_of("postponed_to", "why")]
    }

    id = fields.Integer(dump_only=True)
    site = Code(required=True)
    unit = Code(allow_none=True)
    task = Choice(TASK_WORDS, allow_none=True)
    technician = Code(allow_none=True)
    day = Day(allow_none=True)
    postponed_to = Day(allow_none=True)
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
