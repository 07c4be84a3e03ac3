"""The fleet year as JSON: all figures."""

import orjson

from service.domain.summary.fleet import FleetYear
from service.rendering.year.summary_json import to_json


def render(year: FleetYear) -> bytes:
    """One JSON document; the same bytes for the same year."""
    return orjson.dumps(to_json(year, "si", "UTC"))
