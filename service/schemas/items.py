"""JSON of parts that a visit put in, took out or used up."""

from typing import Any, ClassVar

from marshmallow import Schema, validate

from service.domain.record.fleet import COMPONENT_KINDS
from service.domain.record.visits import BY, CONDITIONS, EVIDENCE, REASONS, USED_IN
from service.schemas.fields import Choice, Code, Count, Day, Measure, Whole, line
from service.schemas.imprecise_days import ReportedDay

KIND = Choice(
    COMPONENT_KINDS, load_only=True, metadata={"description": "adds the component to the unit if it is new there"}
)


class RemovedItemSchema(Schema):
    """The item that was taken out, as its nameplate says."""

    maker = line(allow_none=True)
    model = line(allow_none=True)
    serial = line(allow_none=True)


class ItemSchema(RemovedItemSchema):
    """The item that was put in."""

    source = line(allow_none=True, metadata={"description": "where it came from, such as the van or a supplier"})
    warranty_until = Day(allow_none=True, metadata={"description": "the last day of its warranty"})


class PartUsedSchema(Schema):
    """A part or consumable used up on a visit; it has a count, or a quantity with its unit."""

    more_json_schema: ClassVar[dict[str, Any]] = {
        "anyOf": [
            {"required": [name], "properties": {name: {"not": {"type": "null"}}}} for name in ("count", "quantity")
        ]
    }

    description = line(required=True)
    count = Count(allow_none=True, validate=validate.Range(1, 10_000), metadata={"description": "how many"})
    quantity = Measure(*USED_IN, low=0, high="1000 kg", allow_none=True, metadata={"description": "how much in all"})
    source = line(allow_none=True, metadata={"description": "where it came from, such as the van or a supplier"})


class ReplacementSchema(Schema):
    """An item put into a component's position; a reported one, or one by others, needs the day as far as known.

    `on` null is then an unknown day, otherwise that of the visit.
    """

    more_json_schema: ClassVar[dict[str, Any]] = {
        "anyOf": [
            {"properties": {"evidence": {"const": "seen"}, "by": {"const": "us"}}},
            {"required": ["on"]},
        ]
    }

    component = Code(required=True)
    kind = KIND
    reason = Choice(REASONS, required=True)
    condition = Choice(CONDITIONS, required=True)
    evidence = Choice(EVIDENCE, required=True)
    on = ReportedDay(allow_none=True)
    by = Choice(BY, metadata={"description": "who put it in; at a visit by others it counts as theirs"})
    note = line(2000, allow_none=True)
    item = Whole(ItemSchema, allow_none=True)
    removed_item = Whole(RemovedItemSchema, allow_none=True)
