"""A service summary as JSON: all figures, in the customer's units, instants by the sites' clocks."""

from functools import partial
from typing import Any

import orjson

from service.domain.plain import to_plain
from service.domain.quantities import show_quantity
from service.domain.summary.document import ServiceSummary


def render(summary: ServiceSummary) -> bytes:
    """One JSON document; the same bytes for the same summary."""
    return orjson.dumps(to_json(summary, summary.units_shown, "UTC"))


def to_json(value: Any, system: str, zone: str) -> Any:
    """A part of a summary as plain JSON values; a unit's instants carry the offset of its own site."""
    return to_plain(value, partial(show_quantity, system=system), zone, nulls=True)
