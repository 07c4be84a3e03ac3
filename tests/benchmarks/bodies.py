"""Full visits of 12 readings each, as a technician's client posts them, without end."""

import json
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from itertools import count
from pathlib import Path
from random import Random
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
HEALTHY = {
    "bath_temperature": "28.5 degF",
    "beer_temperature_at_tap": "37 degF",
    "condenser_air_out_temperature": "104 degF",
}
TASKS = ("bath_level_check", "condenser_clean", "glycol_strength_check", "pump_check", "strainer_clean")
PARTS = ("fan-1", "contactor-1", "pump-1", "thermostat-1")
KINDS = ("maintenance",) * 4 + ("call", "replacement")  # dealt out by sixes
PRECAUTION = {"component": "contactor-1", "reason": "precaution", "condition": "worn", "evidence": "seen"}
MAINTENANCE = {
    "kind": "maintenance",
    "tasks": [{"task": task, "result": "done"} | ({"as_found": "light"} if "clean" in task else {}) for task in TASKS],
    "work": "All tasks done; the condenser was lightly fouled, glycol topped up with half a gallon.",
    "outcome": "running",
}
CALL = {
    "kind": "service_call",
    "tasks": [
        {"task": "condenser_clean", "result": "done", "as_found": "blocked"},
        {"task": "glycol_strength_check", "result": "done"},
    ],
    "observations": [{"code": "cover_panel_missing"}],
    "work": "Cleaned the blocked condenser; replaced what had failed and, as a precaution, what was worn.",
    "advice": "Watch the first glass tomorrow; have the hood filters cleaned, the condenser draws the grease in.",
    "outcome": "recovering",
}


def realistic_mix(units: int, since: date) -> Iterator[bytes]:
    """Two thirds maintenance without failures; of the service calls, half replace a failed part."""
    chance = Random(7)
    for number, (unit, day) in enumerate(_days(units, since)):
        if number % len(KINDS) == 0:
            dealt = chance.sample(KINDS, len(KINDS))
        kind = dealt[number % len(KINDS)]
        if kind == "maintenance":
            body = MAINTENANCE | {"readings": _readings(day, HEALTHY)}
        else:
            body = _call(day, [_failed(chance.choice(PARTS))] if kind == "replacement" else [])
        yield _posted(unit, day, body)


def part_failed(units: int, since: date) -> Iterator[bytes]:
    """A service call at every unit each day, at which the same part has failed again: the worst there is."""
    for unit, day in _days(units, since):
        yield _posted(unit, day, _call(day, [_failed("fan-1"), PRECAUTION]))


def import_file(path: Path, posted: Iterable[bytes]) -> Path:
    """These visits as a file for `glycol-fleet import`."""
    with path.open("w") as file:
        file.writelines(json.dumps({"record": "visit", **json.loads(body)}) + "\n" for body in posted)
    return path


def _days(units: int, since: date) -> Iterator[tuple[int, date]]:
    """Round after round at every unit, each round a day later, so that due items always change."""
    return ((number % units + 1, since + timedelta(days=number // units)) for number in count())


def _call(day: date, replacements: list[dict[str, str]]) -> dict[str, Any]:
    reported = {"symptom": "foaming", "reported_at": f"{day}T11:20:00-06:00", "words": "first glass all foam"}
    return CALL | {"complaint": reported, "readings": _readings(day, {}), "replacements": replacements}


def _failed(component: str) -> dict[str, str]:
    return {"component": component, "reason": "failed", "condition": "seized", "evidence": "seen"}


def _readings(day: date, values: Mapping[str, str]) -> list[dict[str, str]]:
    return [
        {**reading, "at": f"{day}T13:{15 + n}:00-06:00", "value": values.get(reading["quantity"], reading["value"])}
        for n, reading in enumerate(READINGS)
    ]


def _posted(unit: int, day: date, body: Mapping[str, Any]) -> bytes:
    visit = {
        "id": str(uuid4()),
        "unit": f"GU-{unit:06}",
        "technician": "tech-1",
        "arrived_at": f"{day}T13:05:00-06:00",
        "left_at": f"{day}T14:40:00-06:00",
    }
    return json.dumps(visit | dict(body)).encode()
