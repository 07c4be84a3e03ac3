"""The lines of a file that hold what was learned from the fleet."""

from marshmallow import Schema, fields, validate

from service.schemas.fields import Count, Instant

POSITIVE = validate.Range(1e-12, 1e9)


class DriftRecord(Schema):
    """How a figure drifts, in its SI unit and days."""

    slope = fields.Float(required=True, validate=POSITIVE)
    spread = fields.Float(required=True, validate=POSITIVE)
    noise = fields.Float(required=True, validate=POSITIVE)
    wander = fields.Float(required=True, validate=POSITIVE)
    steady = fields.Float(required=True, validate=validate.Range(0, 1))
    changes = fields.Float(required=True, validate=validate.Range(0, 1e3))
    wrong = fields.Float(required=True, validate=validate.Range(0, 1 / 3))


class FoulingRecord(Schema):
    """How long until it is heavily fouled, in days."""

    median = fields.Float(required=True, validate=POSITIVE)
    between = fields.Float(required=True, validate=POSITIVE)
    within = fields.Float(required=True, validate=POSITIVE)
    units = Count(required=True, validate=validate.Range(0, 1_000_000_000))
    grades = Count(required=True, validate=validate.Range(0, 1_000_000_000))


class LearnedRecord(Schema):
    """What was learned from the fleet: drifts by figure, and times to heavy fouling by task and surroundings."""

    learned_at = Instant(required=True)
    drifts = fields.Dict(
        keys=fields.String(), values=fields.Nested(DriftRecord), required=True, validate=validate.Length(max=100)
    )
    fouling = fields.Dict(
        keys=fields.String(), values=fields.Nested(FoulingRecord), required=True, validate=validate.Length(max=100)
    )


class BaselineRecord(Schema):
    """Figures learned from the fleet, by which the root causes of that day are weighed."""

    at = Instant(required=True)
    figures = fields.Dict(required=True, validate=validate.Length(max=20))
