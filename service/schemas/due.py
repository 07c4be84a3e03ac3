"""JSON of due items."""

from marshmallow import Schema, fields

from service.schemas.fields import Code, Day


class DueItemSchema(Schema):
    """A task due at a unit, with its basis and reason."""

    unit = Code(required=True)
    task = fields.String(required=True)
    due_on = Day(required=True)
    days_overdue = fields.Integer(required=True, metadata={"description": "at the site's date; negative: not due yet"})
    status = fields.String(required=True)
    basis = fields.String(required=True)
    why = fields.String(required=True)
    interval = fields.String(allow_none=True, required=True)
    last_done_on = Day(allow_none=True, required=True)


class UnitDue(Schema):
    """All tasks due at one unit, soonest first."""

    items = fields.List(fields.Nested(DueItemSchema), required=True)
