"""JSON of due items."""

from marshmallow import Schema, fields, validate

from service.domain.maintenance.pm_list import SOON_DAYS, STATUSES
from service.schemas.fields import Choice, Code, Day


class DueItemSchema(Schema):
    """A task due at a unit, with its basis and reason."""

    unit = Code(required=True)
    task = fields.String(required=True)
    due_on = Day(shown=True, required=True)
    days_overdue = fields.Integer(required=True, metadata={"description": "at the site's date; negative: not due yet"})
    status = Choice(
        STATUSES, required=True, metadata={"description": "due_soon: within the horizon; scheduled: beyond it"}
    )
    basis = fields.String(required=True)
    why = fields.String(required=True)
    interval = fields.String(allow_none=True, required=True)
    last_done_on = Day(allow_none=True, required=True)


class DueQuery(Schema):
    """How far ahead a date counts as due soon."""

    horizon_days = fields.Integer(load_default=SOON_DAYS, validate=validate.Range(0, 366))


class UnitDue(Schema):
    """All tasks due at one unit, soonest first."""

    items = fields.List(fields.Nested(DueItemSchema), required=True)
