"""JSON of customers, technicians and sites. Syntax only: whether what is named exists is for the use cases."""

from marshmallow import Schema, fields, validate

from service.domain.record.fleet import SURROUNDINGS, UNIT_SYSTEMS, WEEKDAYS
from service.schemas.fields import STAYS, Choice, Clock, Code, Day, Measure, Number, Parts, TimeZone, line, version
from service.schemas.paging import Page, PageQuery


class CustomerSchema(Schema):
    """Who pays."""

    code = Code(required=True, metadata=STAYS)
    name = line(2000, required=True)
    contact = line(allow_none=True)
    phone = line(allow_none=True)
    email = line(allow_none=True)
    units_shown = Choice(UNIT_SYSTEMS, allow_none=True)
    care_from = Day(allow_none=True, metadata={"description": "the day from which we care for the units"})
    ended_on = Day(allow_none=True, metadata={"description": "the first day on which it is no longer a customer"})
    version = version()


LeaveSchema = Schema.from_dict({"from": Day(required=True), "until": Day(required=True)}, name="LeaveSchema")
LeaveSchema.__doc__ = "Days on which a technician does not work, the first and the last included."


OpeningHoursSchema = Schema.from_dict(
    {"weekday": Choice(WEEKDAYS, required=True), "from": Clock(required=True), "until": Clock(required=True)},
    name="OpeningHoursSchema",
)
OpeningHoursSchema.__doc__ = "Hours on a weekday, by the site's clock; an end before the beginning is on the next day."
DAY_STARTS = {"description": "when a day's driving begins, by the company's clock, else the sites'"}


class TechnicianSchema(Schema):
    """Who visits."""

    code = Code(required=True, metadata=STAYS)
    name = line(2000, required=True)
    phone = line(allow_none=True)
    email = line(allow_none=True)
    left_on = Day(allow_none=True)
    leave = Parts(LeaveSchema, most=100)
    hours_per_day = Number(allow_none=True, validate=validate.Range(0, 24))
    skills = fields.List(
        Code(),
        validate=validate.Length(max=50),
        metadata={"description": "what some tasks ask for, such as refrigerant"},
    )
    latitude = Number(
        allow_none=True,
        validate=validate.Range(-90, 90),
        metadata={"description": "where the day begins and ends; null: the company's"},
    )
    longitude = Number(allow_none=True, validate=validate.Range(-180, 180))
    day_starts_at = Clock(allow_none=True, metadata=DAY_STARTS)
    version = version()


class SiteSchema(Schema):
    """Where units are; the time zone decides which day it is there."""

    code = Code(required=True, metadata=STAYS)
    customer = Code(required=True, metadata=STAYS)
    name = line(2000, required=True)
    address = line(2000, allow_none=True)
    time_zone = TimeZone(required=True)
    latitude = Number(allow_none=True, validate=validate.Range(-90, 90))
    longitude = Number(allow_none=True, validate=validate.Range(-180, 180))
    elevation = Measure(
        "length",
        low=-500,
        high="5000 m",
        allow_none=True,
        metadata={"description": "above sea level, for gauge pressures and thin air; null: sea level is assumed"},
    )
    surroundings = Choice(SURROUNDINGS, allow_none=True)
    closed_weekdays = fields.List(Choice(WEEKDAYS), validate=validate.Length(max=7))
    opening_hours = Parts(OpeningHoursSchema, most=50)
    access = line(4000, allow_none=True)
    technician = Code(allow_none=True)
    care_from = Day(allow_none=True, metadata={"description": "the day from which we care for the site's units"})
    ended_on = Day(allow_none=True, metadata={"description": "the first day on which we no longer serve it"})
    version = version()


class CustomerPage(Page):
    """A page of customers."""

    items = fields.List(fields.Nested(CustomerSchema), required=True)


class TechnicianPage(Page):
    """A page of technicians."""

    items = fields.List(fields.Nested(TechnicianSchema), required=True)


class SiteQuery(PageQuery):
    """How to narrow the list of sites."""

    customer = Code()


class SitePage(Page):
    """A page of sites."""

    items = fields.List(fields.Nested(SiteSchema), required=True)
