"""The lines of a file that hold what was learned from the fleet."""

from marshmallow import Schema, fields, validate

from service.domain.condition.parts import AGES, UNKNOWN_AGE
from service.schemas.fields import Choice, Count, Instant, Number

POSITIVE = validate.Range(1e-12, 1e9)


class DriftRecord(Schema):
    """How a figure drifts, in its SI unit and days."""

    slope = Number(required=True, validate=POSITIVE)
    spread = Number(required=True, validate=POSITIVE)
    noise = Number(required=True, validate=POSITIVE)
    wander = Number(required=True, validate=POSITIVE)
    steady = Number(required=True, validate=validate.Range(0, 1))
    changes = Number(required=True, validate=validate.Range(0, 1e3))
    wrong = Number(required=True, validate=validate.Range(0, 1 / 3))


class FoulingRecord(Schema):
    """How long until it is heavily fouled, in days."""

    median = Number(required=True, validate=POSITIVE)
    between = Number(required=True, validate=POSITIVE)
    within = Number(required=True, validate=POSITIVE)
    units = Count(required=True, validate=validate.Range(0, 1_000_000_000))
    grades = Count(required=True, validate=validate.Range(0, 1_000_000_000))


class PartsRecord(Schema):
    """How often components of a kind, model and age were there at a visit, and how often one was replaced."""

    kind = fields.String(required=True, validate=validate.Length(1, 100))
    model = fields.String(required=True, validate=validate.Length(max=2000))
    age = Choice((*(name for _, name in AGES), UNKNOWN_AGE), required=True)
    visits = Count(required=True, validate=validate.Range(0, 1_000_000_000))
    replaced = Count(required=True, validate=validate.Range(0, 1_000_000_000))


class LearnedRecord(Schema):
    """What was learned from the fleet: drifts by figure, times to heavy fouling by task and surroundings, and parts."""

    learned_at = Instant(required=True)
    drifts = fields.Dict(
        keys=fields.String(), values=fields.Nested(DriftRecord), required=True, validate=validate.Length(max=100)
    )
    fouling = fields.Dict(
        keys=fields.String(), values=fields.Nested(FoulingRecord), required=True, validate=validate.Length(max=100)
    )
    parts = fields.List(fields.Nested(PartsRecord), validate=validate.Length(max=100_000))


class BaselineRecord(Schema):
    """Figures learned from the fleet, by which the root causes of that day are weighed."""

    at = Instant(required=True)
    figures = fields.Dict(required=True, validate=validate.Length(max=20))
