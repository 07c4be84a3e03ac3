"""JSON of faults that were measured."""

from marshmallow import Schema, fields, validate

from service.domain.root_causes.measured import MEASURABLE
from service.schemas.fields import Choice, Code, Count, Day

FEW = validate.Length(max=1000)


class MeasuredFaultSchema(Schema):
    """A fault that stands at the last readings of a unit, whether or not anything has failed by it."""

    unit = Code(required=True)
    cause = Choice(MEASURABLE, required=True)
    component = Code(metadata={"description": "absent where it concerns the whole unit"})
    since = Day(
        required=True,
        metadata={
            "description": "the first reading that agrees on it; of a switch over its rating the first day watched"
        },
    )
    read = fields.Dict(keys=fields.String(), values=fields.String(), required=True, validate=FEW)
    rated = fields.Dict(keys=fields.String(), values=fields.String(), required=True, validate=FEW)
    failed = fields.Dict(
        keys=fields.String(), values=Count(), required=True, validate=FEW,
        metadata={"description": "failures since then of the kinds that it harms"},
    )  # fmt: skip
    next_check = fields.String(required=True)
    remedy = fields.String(required=True)
    bring = fields.List(fields.String(), required=True, validate=FEW)
    explanation = fields.String(required=True)
