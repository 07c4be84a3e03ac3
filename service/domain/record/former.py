"""A visit as it was before a correction, read back from the text that the correction kept."""

import json
from collections.abc import Mapping
from typing import Any

from service.domain.instants import parse_day, parse_instant
from service.domain.quantities import parse_quantity
from service.domain.record.readings import BY_QUANTITY
from service.domain.record.structure import build
from service.domain.record.visits import Correction, Visit

INSTANTS = ("arrived_at", "left_at", "posted_at")


def former_visit(visit: Visit, correction: Correction) -> Visit:
    """The visit as it stood before this correction."""
    document = json.loads(correction.former)
    document |= {name: parse_instant(document[name]) for name in INSTANTS if name in document}
    complaint = document.get("complaint")
    if complaint and complaint.get("reported_at"):
        complaint["reported_at"] = parse_instant(complaint["reported_at"])
    document["readings"] = [_reading(each) for each in document.get("readings", ())]
    for part in document.get("replacements", ()):
        if part.get("on"):
            part["on"] = parse_day(part["on"])
    return build(Visit, {**document, "time_zone": visit.time_zone})


def _reading(document: Mapping[str, Any]) -> dict[str, Any]:
    read: dict[str, Any] = {"value": parse_quantity(document["value"], *BY_QUANTITY[document["quantity"]].dimensions)}
    if "sample_temperature" in document:
        read["sample_temperature"] = parse_quantity(document["sample_temperature"], "temperature")
    if "at" in document:
        read["at"] = parse_instant(document["at"])
    return {**document, **read}
