"""A full visit, as a technician's client posts it: 12 readings, 2 tasks, 2 replacements, an observation."""

import json
from collections.abc import Iterator
from datetime import date, timedelta
from itertools import count
from typing import Any
from uuid import uuid4

READINGS = (
    {"quantity": "bath_temperature", "value": "47 degF", "when": "as_found"},
    {"quantity": "bath_temperature", "value": "38 degF", "when": "as_left"},
    {"quantity": "ambient_temperature", "value": "88 degF", "when": "as_found"},
    {"quantity": "condenser_air_in_temperature", "value": "88 degF", "when": "as_found"},
    {"quantity": "condenser_air_out_temperature", "value": "121 degF", "when": "as_found"},
    {"quantity": "current", "component": "fan-1", "value": "1.3 A", "when": "as_left"},
    {"quantity": "current", "component": "pump-1", "value": "5.6 A", "when": "as_found"},
    {"quantity": "supply_voltage", "value": "114 V", "when": "as_found"},
    {"quantity": "glycol_strength", "value": "24.5 Brix", "sample_temperature": "20 degC", "when": "as_found"},
    {"quantity": "glycol_ph", "value": "8.1 pH", "when": "as_found"},
    {"quantity": "beer_temperature_at_tap", "tap": "1", "value": "44 degF", "when": "as_found"},
    {"quantity": "beer_temperature_at_tap", "tap": "1", "value": "39.5 degF", "when": "as_left"},
)
BODY = {
    "kind": "service_call",
    "technician": "tech-1",
    "tasks": [
        {"task": "condenser_clean", "result": "done", "as_found": "blocked"},
        {"task": "glycol_strength_check", "result": "done"},
    ],
    "replacements": [
        {"component": "fan-1", "reason": "failed", "condition": "seized", "evidence": "seen"},
        {"component": "contactor-1", "reason": "precaution", "condition": "worn", "evidence": "seen"},
    ],
    "observations": [{"code": "cover_panel_missing"}],
    "work": "Replaced the seized condenser fan and, as a precaution, the worn contactor; cleaned the condenser.",
    "advice": "Watch the first glass tomorrow; have the hood filters cleaned, the condenser draws the grease in.",
    "outcome": "recovering",
}


def visit(unit: int, day: date) -> dict[str, Any]:
    """The body of a visit at the unit of this number on this day, with an id of its own."""
    return {
        "id": str(uuid4()),
        "unit": f"GU-{unit:06}",
        "arrived_at": f"{day}T13:05:00-06:00",
        "left_at": f"{day}T14:40:00-06:00",
        "complaint": {
            "symptom": "foaming",
            "reported_at": f"{day}T11:20:00-06:00",
            "words": "first glass all foam since Sunday",
        },
        "readings": [{**reading, "at": f"{day}T13:{15 + n}:00-06:00"} for n, reading in enumerate(READINGS)],
        **BODY,
    }


def visits(units: int, since: date) -> Iterator[bytes]:
    """Bodies without end: round after round at every unit, each round a day later, so that due items always change."""
    for number in count():
        day = since + timedelta(days=number // units)
        yield json.dumps(visit(number % units + 1, day)).encode()
