"""JSON of the day's list."""

from marshmallow import Schema, fields, validate

from service.domain.maintenance.list_order import CLASSES
from service.domain.root_causes.life_cycle import ACTION_TIERS
from service.schemas.due import DueItemSchema
from service.schemas.fields import Choice, Code, Day, line

LONGEST_SHOWN = 20_000
FORMATS = ("json", "csv", "ics", "html", "text")


class PmListQuery(Schema):
    """Day, horizon and technician; calendar programs give the format in the address."""

    on = Day(metadata={"description": "the day of the list; default: each site's today"})
    horizon_days = fields.Integer(load_default=0, validate=validate.Range(0, 366))
    technician = Code(metadata={"description": "only what is assigned to this technician, or usually served by them"})
    unassigned = fields.Boolean(metadata={"description": "only what nobody is to do: not assigned, left, or on leave"})
    format = Choice(FORMATS)
    limit = fields.Integer(load_default=2000, validate=validate.Range(1, 5000))
    cursor = line(LONGEST_SHOWN, metadata={"description": "the sites shown on the pages before"})


class PmItemSchema(DueItemSchema):
    """A due item, call or root cause with its class, what to bring and its cautions."""

    work = Choice(CLASSES, required=True, data_key="class", metadata={"description": "what is at stake, worst first"})
    call = fields.String(
        allow_none=True, required=True, metadata={"description": "the id of the call, where it is one"}
    )
    unit = Code(required=True, allow_none=True, metadata={"description": "null: a call whose unit is not known"})
    place = fields.String(allow_none=True, required=True)
    maker = fields.String(allow_none=True, required=True)
    model = fields.String(allow_none=True, required=True)
    task_name = fields.String(required=True)
    minutes = fields.Integer(required=True)
    bring = fields.List(fields.String(), required=True)
    cautions = fields.List(fields.String(), required=True)
    includes = fields.List(
        fields.String(), required=True, metadata={"description": "tasks done with this one and not listed apart"}
    )


class RootCauseCheckSchema(Schema):
    """A root cause to check at a unit on the list."""

    id = fields.Integer(required=True, metadata={"description": "the root cause"})
    unit = Code(required=True)
    component_kind = fields.String(required=True)
    tier = Choice(ACTION_TIERS, required=True)
    state = Choice(("open", "confirmed"), required=True)
    cause = fields.String(required=True)
    next_check = fields.String(required=True)
    bring = fields.List(fields.String(), required=True)
    text = fields.String(required=True, metadata={"description": "all of it as text"})


class StopSchema(Schema):
    """One site with its items, the worst first; its class is that of the worst."""

    work = Choice(CLASSES, required=True, data_key="class")
    site = Code(required=True, allow_none=True, metadata={"description": "null: calls whose site is not known"})
    site_name = fields.String(required=True)
    customer = Code(required=True, allow_none=True)
    customer_name = fields.String(required=True)
    phone = fields.String(allow_none=True, required=True)
    address = fields.String(allow_none=True, required=True)
    access = fields.String(allow_none=True, required=True)
    time_zone = fields.String(required=True)
    latitude = fields.Float(allow_none=True, required=True)
    longitude = fields.Float(allow_none=True, required=True)
    technician = Code(allow_none=True, required=True)
    today = Day(required=True)
    minutes = fields.Integer(required=True)
    items = fields.List(fields.Nested(PmItemSchema), required=True)
    root_causes = fields.List(fields.Nested(RootCauseCheckSchema), required=True)


class CountsSchema(Schema):
    """Totals of the whole list, of which this may be a page."""

    overdue = fields.Integer(required=True)
    due_today = fields.Integer(required=True)
    due_soon = fields.Integer(required=True)
    scheduled = fields.Integer(required=True, metadata={"description": "due beyond the horizon"})
    stops = fields.Integer(required=True)
    minutes = fields.Integer(required=True)


class PmListSchema(Schema):
    """The day's work."""

    horizon_days = fields.Integer(required=True)
    counts = fields.Nested(CountsSchema, required=True)
    stops = fields.List(fields.Nested(StopSchema), required=True)
    next = fields.String(allow_none=True, required=True)
