"""A visit as it was before a correction, read back from the text that the correction kept."""

import json
from collections.abc import Mapping
from typing import Any

from service.domain.plain import from_plain
from service.domain.quantities import Quantity, parse_quantity
from service.domain.record.readings import BY_QUANTITY
from service.domain.record.visits import Correction, Visit


def former_visit(visit: Visit, correction: Correction) -> Visit:
    """The visit as it stood before this correction."""
    former = json.loads(correction.former)
    return from_plain(Visit, {**former, "time_zone": visit.time_zone}, _entered)


def _entered(name: str, text: str, beside: Mapping[str, Any]) -> Quantity:
    """A quantity from its text; what a reading's value can be depends on the reading's quantity."""
    return parse_quantity(text, *(BY_QUANTITY[beside["quantity"]].dimensions if name == "value" else ("temperature",)))
