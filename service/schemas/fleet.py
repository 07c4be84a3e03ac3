"""JSON of customers, technicians and sites. Syntax only: whether what is named exists is for the use cases."""

from marshmallow import Schema, fields, validate

from service.domain.record.fleet import SURROUNDINGS, UNIT_SYSTEMS, WEEKDAYS
from service.schemas.fields import STAYS, Choice, Code, Day, Measure, Number, Parts, TimeZone, line, version
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


class TechnicianSchema(Schema):
    """Who visits."""

    code = Code(required=True, metadata=STAYS)
    name = line(2000, required=True)
    phone = line(allow_none=True)
    email = line(allow_none=True)
    left_on = Day(allow_none=True)
    leave = Parts(LeaveSchema, most=100)
    hours_per_day = Number(allow_none=True, validate=validate.Range(0, 24))
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
