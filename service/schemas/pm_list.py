"""JSON of the day's list."""

from datetime import datetime

from marshmallow import Schema, fields, validate

from service.domain.instants import parse_site_time
from service.domain.maintenance.list_order import CLASSES
from service.domain.root_causes.life_cycle import ACTION_TIERS
from service.schemas.due import DueItemSchema
from service.schemas.fields import Choice, Code, Day, Instant, Parsed, line, parse_clock

LONGEST_SHOWN = 20_000
START_SCHEMA = {"type": "string", "examples": ["08:00", "2026-06-09T08:00"]}
LAID_OUT = {"description": "when the day was laid out (`start` or `hours`); null otherwise"}
FORMATS = ("json", "csv", "ics", "html", "text")


def parse_start(text: object) -> str | datetime:
    """A time of day, an instant, or a local time without offset."""
    if isinstance(text, str) and len(text) <= len("08:00"):
        return parse_clock(text)
    return parse_site_time(text)


class DayStart(Parsed):
    """When a day begins: a time of day HH:MM, or an instant."""

    read = staticmethod(parse_start)
    json_schema = START_SCHEMA


class PmListQuery(Schema):
    """Day, horizon and technician; calendar programs give the format in the address."""

    on = Day(metadata={"description": "the day of the list; default: each site's today"})
    horizon_days = fields.Integer(load_default=0, validate=validate.Range(0, 366))
    technician = Code(metadata={"description": "only what is assigned to this technician, or usually served by them"})
    unassigned = fields.Boolean(metadata={"description": "only what nobody is to do: not assigned, left, or on leave"})
    start = DayStart(
        metadata={"description": "lay out the day from this time on: a time of day at the sites, or an instant"}
    )
    hours = fields.Float(
        validate=validate.Range(0, 24, min_inclusive=False),
        metadata={"description": "lay out a day of so many hours with travel; default: the technician's or company's"},
    )
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
    technician = Code(allow_none=True, required=True, metadata={"description": "who does it; null: nobody"})
    assigned_day = Day(
        allow_none=True,
        required=True,
        metadata={"description": "the day of the list to which it is assigned; null without one"},
    )
    pulled_forward = fields.String(
        allow_none=True, required=True, metadata={"description": "why it is done ahead of its date; null otherwise"}
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
    arrives_at = Instant(shown=True, allow_none=True, required=True, metadata=LAID_OUT)
    leaves_at = Instant(shown=True, allow_none=True, required=True, metadata=LAID_OUT)
    travel_minutes = fields.Integer(allow_none=True, required=True, metadata={"description": "from the stop before"})
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


class DriverSchema(Schema):
    """A technician's day: it goes on from `starts_at`; `done` are the sites visited before."""

    technician = Code(required=True)
    starts_at = Instant(shown=True, required=True)
    ends_at = Instant(shown=True, required=True)
    work_minutes = fields.Integer(required=True)
    travel_minutes = fields.Integer(required=True)
    done = fields.List(Code(), required=True)


class LeftOverSchema(Schema):
    """An item that does not fit into the day."""

    work = Choice(CLASSES, required=True, data_key="class")
    site = Code(required=True, allow_none=True)
    unit = Code(required=True, allow_none=True)
    task = fields.String(required=True)
    call = fields.String(allow_none=True, required=True)
    technician = Code(required=True, allow_none=True)
    due_on = Day(shown=True, required=True)
    minutes = fields.Integer(required=True)
    reason = fields.String(required=True, metadata={"description": "why it is left over"})
    risk = fields.String(required=True, metadata={"description": "what that means"})


class DaySchema(Schema):
    """A day that was laid out: the stops are in the order in which they are driven to."""

    technicians = fields.List(fields.Nested(DriverSchema), required=True)
    left_over = fields.List(fields.Nested(LeftOverSchema), required=True)
    notes = fields.List(fields.String(), required=True, metadata={"description": "what was assumed"})


class PmListSchema(Schema):
    """The day's work."""

    horizon_days = fields.Integer(required=True)
    counts = fields.Nested(CountsSchema, required=True)
    stops = fields.List(fields.Nested(StopSchema), required=True)
    next = fields.String(allow_none=True, required=True)
    day = fields.Nested(
        DaySchema, allow_none=True, required=True, metadata={"description": "with `start` or `hours`, else null"}
    )
