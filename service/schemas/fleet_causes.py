"""JSON of what failures at several units have in common."""

from marshmallow import Schema, fields, validate

from service.domain.root_causes.fleet_search import LEVELS
from service.domain.root_causes.found import TIERS
from service.schemas.fields import Choice, Count, Day, Number

MANY = validate.Range(0, 10_000_000)
PLACES = validate.Length(max=1_000_000)


class FleetCauseShareSchema(Schema):
    """The cause and its probability."""

    cause = fields.String(required=True)
    probability = Number(required=True, validate=validate.Range(0, 1))


class FleetCauseSchema(Schema):
    """What failures at several units have in common: a model, a maker, a technician, months, or a site's voltage."""

    level = Choice(LEVELS, required=True)
    key = fields.String(
        required=True,
        metadata={"description": "which model with its maker, maker, technician or site; of a season its first month"},
    )
    component_kinds = fields.List(fields.String(), required=True, validate=validate.Length(max=100))
    tier = Choice(TIERS, required=True)
    probability_of_chance = Number(
        required=True, validate=validate.Range(0, 1),
        metadata={"description": "corrected for all of this level that was compared; of a site, beside this cause"},
    )  # fmt: skip
    causes = fields.List(fields.Nested(FleetCauseShareSchema), required=True, validate=validate.Length(max=100))
    units = fields.List(fields.String(), required=True, validate=PLACES, metadata={"description": "those that failed"})
    failed = Count(required=True, validate=MANY, metadata={"description": "items that failed; of a season, failures"})
    compared = Count(
        required=True, validate=MANY,
        metadata={"description": "items put in; of a season, failures in all months; of a site, component kinds"},
    )  # fmt: skip
    expected = Number(required=True, metadata={"description": "how many failures were to be expected"})
    first = Day(required=True)
    last = Day(required=True)
    next_check = fields.String(required=True)
    remedy = fields.String(required=True)
    bring = fields.List(fields.String(), required=True, validate=validate.Length(max=100))
    explanation = fields.String(required=True)
