"""JSON of our own company."""

from typing import Any

from marshmallow import Schema, fields, validate

from service.domain.record.company import Capacity, Company
from service.schemas.fields import Clock, Number, TimeZone, line, version
from service.schemas.fleet import DAY_STARTS
from service.schemas.shown import shown


class CapacitySchema(Schema):
    """The technicians in service whose hours are known, and the hours of work that they do on a day."""

    technicians = fields.Integer(required=True)
    hours_per_day = fields.Float(required=True)


class CompanySchema(Schema):
    """Our own company: what is printed on lists and documents for customers, and its working day."""

    name = line(allow_none=True)
    address = line(2000, allow_none=True)
    phone = line(allow_none=True)
    email = line(allow_none=True)
    licence = line(allow_none=True, metadata={"description": "the line about licences that documents show"})
    hours_per_day = Number(
        allow_none=True,
        validate=validate.Range(0, 24),
        metadata={"description": "work of a technician on a day, without travel; a technician may have other hours"},
    )
    latitude = Number(
        allow_none=True,
        validate=validate.Range(-90, 90),
        metadata={"description": "where the technicians' days begin and end"},
    )
    longitude = Number(allow_none=True, validate=validate.Range(-180, 180))
    day_starts_at = Clock(allow_none=True, metadata=DAY_STARTS)
    time_zone = TimeZone(
        allow_none=True,
        metadata={
            "description": "of the office: by it go a day that has no site and a call of which the site is not known; "
            "null: that of the first site, for a call UTC"
        },
    )
    road_factor = Number(
        allow_none=True,
        validate=validate.Range(1, 5),
        metadata={"description": "length of the road over the straight line; null: 1.3"},
    )
    travel_speed_kmh = Number(
        allow_none=True,
        validate=validate.Range(5, 130),
        metadata={"description": "km/h on the road, with stops and traffic; null: 40"},
    )
    minutes_at_door = Number(
        allow_none=True,
        validate=validate.Range(0, 60),
        metadata={"description": "to park, unload and be let in, added to each way to a site; null: none"},
    )
    capacity = fields.Nested(
        CapacitySchema, dump_only=True, metadata={"description": "today, by UTC; leave is not taken off"}
    )
    version = version()


def shown_company(company: Company, today: Capacity) -> dict[str, Any]:
    """The company with its capacity of today."""
    return shown(company) | {"capacity": shown(today)}
