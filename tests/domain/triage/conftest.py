"""Questions to triage, with readings written as one line each: "suction_pressure 16 psi", "current[fan-1] 0 A"."""

import re
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

from service.domain.plain import from_plain
from service.domain.record.fleet import Unit
from service.domain.record.visits import Reading
from service.domain.triage.diagnose import diagnose
from service.domain.triage.question import Question, Seen, Triage
from service.schemas.reading import read
from service.schemas.triage import TriageReadingSchema
from service.schemas.units import UnitSchema

LINE = re.compile(
    r"(?P<quantity>\w+)(?:\[(?P<place>[\w-]+)\])? (?P<value>[^@~]+?)(?: ~(?P<sample>[^@]+?))?(?: @(?P<at>\d+))?"
)
START = datetime(2026, 6, 9, 19, 0, tzinfo=UTC)
RECORD: dict[str, Any] = {
    "supply": {"voltage": "115 V"},
    "refrigeration": {
        "refrigerant": "R-134a",
        "metering": "capillary",
        "charge": "900 g",
        "rated_cooling": "2900 Btu/h",
        "rated_ambient": "85 degF",
        "rated_bath": "29 degF",
        "clean_split": "18 deltaF",
    },
    "bath": {
        "volume": "10 gal",
        "set_point": "28 degF",
        "differential": "3 deltaF",
        "glycol": "propylene",
        "target_strength": "35 mass%",
    },
    "components": [
        {"code": "compressor-1", "kind": "compressor", "rated_current": "9.8 A"},
        {"code": "fan-1", "kind": "condenser_fan", "rated_current": "1 A"},
        {"code": "pump-1", "kind": "pump", "rated_current": "5.8 A"},
        {"code": "switch-1", "kind": "power_switch"},
        {"code": "controller-1", "kind": "temperature_controller"},
    ],
}


def reading(line: str) -> Reading:
    """A reading from its line; "@15" is 15 minutes after the first."""
    found = LINE.fullmatch(line)
    assert found, line
    body: dict[str, Any] = {"quantity": found["quantity"], "value": found["value"]}
    if found["place"]:
        body["tap" if found["quantity"] == "beer_temperature_at_tap" else "component"] = found["place"]
    if found["sample"]:
        body["sample_temperature"] = found["sample"]
    if found["at"]:
        body["at"] = (START + timedelta(minutes=int(found["at"]))).isoformat()
    return from_plain(Reading, read(TriageReadingSchema(), body))


def unit(**changes: Any) -> Unit:
    """The unit of the tests, with other parts of its record."""
    body = read(UnitSchema(), {"tag": "GU-0007", "site": "lantern-quay", **RECORD, **changes})
    return from_plain(Unit, {"registered_on": date(2023, 5, 2), **body})


def question(*lines: str, seen: tuple[str, ...] = (), symptom: str | None = "warm_pour", **more: Any) -> Question:
    """A question; a sign that begins with a minus was looked for and not there."""
    return Question(
        unit=more.pop("unit", None) or unit(),
        symptom=symptom,
        readings=tuple(map(reading, lines)),
        seen=tuple(Seen(code=each.lstrip("-"), present=not each.startswith("-")) for each in seen),
        **({"elevation": 0.0} | more),
    )


@pytest.fixture(scope="session")
def triage() -> Callable[..., Triage]:
    """Answers a question written as lines."""

    def do(*lines: str, **more: Any) -> Triage:
        return diagnose(question(*lines, **more), "us")

    return do
