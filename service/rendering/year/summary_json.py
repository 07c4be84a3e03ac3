"""A service summary as JSON: all figures, in the customer's units, instants by the sites' clocks."""

from datetime import date, datetime
from typing import Any

import orjson

from service.domain.instants import at_site
from service.domain.quantities import Quantity, show_quantity
from service.domain.record.structure import parts_of
from service.domain.summary.document import ServiceSummary, UnitSummary


def render(summary: ServiceSummary) -> bytes:
    """One JSON document; the same bytes for the same summary."""
    return orjson.dumps(to_json(summary, summary.units_shown, "UTC"))


def to_json(value: Any, system: str, zone: str) -> Any:
    """A part of a summary as plain JSON values; a unit's instants carry the offset of its own site."""
    if isinstance(value, Quantity):
        return show_quantity(value, system)
    if isinstance(value, datetime):
        return at_site(value, zone)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return [to_json(part, system, zone) for part in value]
    names = parts_of(type(value))  # type: ignore[arg-type]  # any class is hashable
    if names is None:
        return value
    inside = value.time_zone if isinstance(value, UnitSummary) else zone
    return {name: to_json(getattr(value, name), system, inside) for name in names}
