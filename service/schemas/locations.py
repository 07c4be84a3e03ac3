"""JSON of a unit's dated locations."""

from typing import Any, ClassVar

from marshmallow import Schema, fields

from service.domain.instants import at_site
from service.domain.record.unit_log import UnitLog
from service.schemas.fields import Code, Day, Instant, line


class LocationSchema(Schema):
    """A site at which the unit stands from a day on."""

    class Meta:
        """The field whose name Python keeps for itself."""

        include: ClassVar = {
            "from": Day(required=True, metadata={"description": "first day there, by the site's own date"})
        }

    site = Code(required=True)
    reason = line(allow_none=True, metadata={"description": "loaner, swap, move, ..."})


class ShownLocation(Schema):
    """A location in force; the first one has no day, author or instant of recording."""

    class Meta:
        """The field whose name Python keeps for itself."""

        include: ClassVar = {"from": Day(required=True, allow_none=True)}

    site = fields.String(required=True)
    customer = fields.String(required=True)
    until = Day(required=True, allow_none=True, metadata={"description": "the day on which the next one begins"})
    reason = fields.String(required=True, allow_none=True)
    recorded_at = Instant(required=True, allow_none=True)
    recorded_by = fields.String(required=True, allow_none=True)


class LocationList(Schema):
    """A unit's locations by day, planned ones too."""

    items = fields.List(fields.Nested(ShownLocation), required=True)


def shown_locations(log: UnitLog) -> dict[str, Any]:
    """The locations of a unit as JSON."""
    locations = log.locations
    days = [None if each.starts_on is None else each.starts_on.isoformat() for each in locations]
    return {
        "items": [
            {
                "site": each.site.code,
                "customer": each.site.customer,
                "from": days[n],
                "until": days[n + 1] if n + 1 < len(days) else None,
                "reason": each.reason,
                "recorded_at": None if each.at is None else at_site(each.at, each.site.time_zone),
                "recorded_by": each.by,
            }
            for n, each in enumerate(locations)
        ]
    }
