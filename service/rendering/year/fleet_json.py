"""The fleet's year as JSON: all figures."""

import orjson

from service.domain.summary.fleet_year import FleetYear
from service.rendering.year.summary_json import told


def render(year: FleetYear) -> bytes:
    """One JSON document; the same bytes for the same year."""
    return orjson.dumps(told(year, "si", "UTC"))
