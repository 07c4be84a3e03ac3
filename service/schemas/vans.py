"""JSON of vans: movements, stock, and what a day is likely to need."""

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from marshmallow import Schema, fields, validate

from service.domain.instants import at_site
from service.domain.quantities import Quantity, show_quantity
from service.domain.record.visits import USED_IN
from service.domain.vans.stock import ACTIONS, COUNTED, Stock
from service.schemas.fields import Choice, Code, Count, Day, Instant, Measure, VisitId, line
from service.schemas.paging import Page
from service.usecases.planning.vans import Line


class MovementSchema(Schema):
    """Something taken into a van or put back, or all of an item counted: how many, or how much with its unit."""

    more_json_schema: ClassVar[dict[str, Any]] = {
        "anyOf": [
            {"required": [name], "properties": {name: {"not": {"type": "null"}}}} for name in ("count", "quantity")
        ]
    }

    id = VisitId(metadata={"description": "made by the client: the same id again records nothing more"})
    action = Choice(ACTIONS, required=True)
    item = line(
        required=True,
        metadata={"description": "a kind of component, glycol_concentrate, coil_cleaner, or any other name"},
    )
    count = Count(allow_none=True, validate=validate.Range(0, 100_000))
    quantity = Measure(*USED_IN, low=0, high="1000 kg", allow_none=True)
    at = Instant(metadata={"description": "default: now"})
    technician = Code(dump_only=True)
    by = fields.String(dump_only=True)


class MovementPage(Page):
    """Movements of a van, in the order in which they were recorded."""

    items = fields.List(fields.Nested(MovementSchema), required=True)


class StockSchema(Schema):
    """What there should be of an item: counted, taken and put back since, and used up by visits."""

    item = fields.String(required=True)
    count = fields.Integer(required=True, allow_none=True)
    quantity = fields.Dict(required=True, allow_none=True)
    counted_at = Instant(shown=True, required=True, allow_none=True)


class VanSchema(Schema):
    """A technician's van."""

    technician = Code(required=True)
    stock = fields.List(fields.Nested(StockSchema), required=True)


class VanListQuery(Schema):
    """The day and the van."""

    on = Day(metadata={"description": "the day of the list; default: each site's today"})
    technician = Code(metadata={"description": "one van; default: all"})


class VanLineSchema(Schema):
    """An item that the day is likely to need; amounts are counts, or quantities in SI."""

    item = fields.String(required=True)
    bring = fields.Raw(required=True, metadata={"description": "with it the chance of running short is at most 5 %"})
    expected = fields.Raw(required=True, metadata={"description": "the mean"})
    stock = fields.Raw(required=True)
    chance_short = fields.Float(required=True, metadata={"description": "with what the van has"})
    why = fields.List(fields.String(), required=True)


class VanLoadSchema(Schema):
    """What one van should bring."""

    technician = Code(required=True)
    items = fields.List(fields.Nested(VanLineSchema), required=True)


class VanListSchema(Schema):
    """One list a van."""

    vans = fields.List(fields.Nested(VanLoadSchema), required=True)


def shown_stock(each: Stock) -> dict[str, Any]:
    """What there is of an item."""
    counted = each.dimension == COUNTED
    return {
        "item": each.item,
        "count": round(each.amount) if counted else None,
        "quantity": None if counted else _amount(each.amount, each.dimension),
        "counted_at": each.counted_at and at_site(each.counted_at, "UTC"),
    }


def shown_load(load: Mapping[str, Sequence[Line]]) -> dict[str, Any]:
    """What each van should bring."""
    return {
        "vans": [{"technician": code, "items": [_line(each) for each in lines]} for code, lines in sorted(load.items())]
    }


def _line(each: Line) -> dict[str, Any]:
    need = each.need
    return {
        "item": need.item,
        "bring": _amount(need.bring, need.dimension),
        "expected": _amount(need.expected, need.dimension),
        "stock": _amount(each.stock, need.dimension),
        "chance_short": round(each.chance_short, 3),
        "why": list(need.why),
    }


def _amount(amount: float, dimension: str) -> Any:
    return round(amount, 3) if dimension == COUNTED else show_quantity(Quantity(amount, dimension, ""), "si")
