"""JSON of the catalogue of PM tasks and of a unit's own settings for them."""

from marshmallow import Schema, fields, validate

from service.domain.maintenance.tasks import RULES
from service.schemas.fields import Choice, Code, Count, Flag, IntervalText, Number, line


class TaskSchema(Schema):
    """A task. Interval, range, minutes, what to bring, skills and whether it applies may be edited."""

    code = fields.String(dump_only=True)
    name = fields.String(dump_only=True)
    interval = IntervalText(allow_none=True)
    shortest = IntervalText(allow_none=True)
    longest = IntervalText(allow_none=True)
    minutes = Count(allow_none=True, validate=validate.Range(1, 1440))
    bring = fields.List(line(), allow_none=True, validate=validate.Length(max=50))
    skills = fields.List(
        Code(),
        allow_none=True,
        validate=validate.Length(max=20),
        metadata={"description": "what whoever does it must have; a technician's skills are compared"},
    )
    applies = Flag(allow_none=True)
    rule = Choice(
        RULES,
        allow_none=True,
        metadata={
            "description": "what sets the date: calendar, the interval alone; stepped, changed by what was found; "
            "learned, until the chance of finding it heavily fouled reaches heavy_chance, for tasks that adapt; "
            "condition, by the forecast of the figure that the task corrects, where it corrects one"
        },
    )
    heavy_chance = Number(
        allow_none=True,
        validate=validate.Range(0.01, 0.9),
        metadata={"description": "chance of heavy fouling or worse at which an interval that is learned ends"},
    )
    figure = fields.String(
        dump_only=True, allow_none=True, metadata={"description": "that the task corrects, in a unit's forecasts"}
    )
    note = line(2000, allow_none=True, metadata={"description": "reason for the setting"})
    cautions = fields.List(fields.String(), dump_only=True)
    source = fields.String(dump_only=True)
    adapts = fields.Boolean(dump_only=True)
    surroundings = fields.Dict(keys=fields.String(), values=fields.Float(), dump_only=True)
    edited = fields.List(
        fields.String(), dump_only=True, metadata={"description": "fields that differ from the default"}
    )
    unit = Code(dump_only=True)
    version = fields.Integer(dump_only=True)


class TaskList(Schema):
    """All tasks."""

    items = fields.List(fields.Nested(TaskSchema), required=True)
