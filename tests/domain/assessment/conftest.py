"""Visits written as one line for each reading, and their assessment.

"bath_temperature 80 degF @20" is read as left, 20 minutes after the arrival; "[pump-1]" names component or tap,
"~20 degC" the sample's temperature, "found" an as-found reading.
"""

import re
from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

import pytest

from service.domain.assessment.assess import assess
from service.domain.assessment.finding import Assessment, Finding
from service.domain.plain import from_plain
from service.domain.record.fleet import Unit
from service.domain.record.visits import Visit
from service.schemas.reading import read
from service.schemas.units import UnitSchema
from service.schemas.visits import VisitSchema

LINE = re.compile(
    r"(?P<quantity>\w+)(?:\[(?P<place>[\w-]+)\])? (?P<value>[^@~]+?)(?: ~(?P<sample>[^@]+?))?(?: @(?P<at>\d+))?"
    r"(?P<found> found)?"
)
ARRIVED = datetime(2026, 6, 9, 19, 5, tzinfo=UTC)


def reading(line: str) -> dict[str, Any]:
    """The body of a reading from its line."""
    found = LINE.fullmatch(line)
    assert found, line
    body = {"quantity": found["quantity"], "value": found["value"], "when": "as_found" if found["found"] else "as_left"}
    if found["place"]:
        body["tap" if found["quantity"] == "beer_temperature_at_tap" else "component"] = found["place"]
    if found["sample"]:
        body["sample_temperature"] = found["sample"]
    if found["at"]:
        hours, minutes = divmod(int(found["at"]) + 5, 60)
        body["at"] = f"2026-06-09T{19 + hours}:{minutes:02}:00Z"
    return body


def unit(**known: Any) -> Unit:
    """A unit of which only this is known."""
    body = read(UnitSchema(), {"tag": "GU-0007", "site": "lantern-quay", **known})
    return from_plain(Unit, {"registered_on": date(2023, 5, 2), **body})


def visit(*readings: str, **more: Any) -> Visit:
    """A visit with these readings."""
    frame = {"unit": "GU-0007", "kind": "service_call", "arrived_at": "2026-06-09T13:05:00-06:00"}
    body = read(VisitSchema(), frame | {"readings": [reading(line) for line in readings]} | more)
    ours = {"id": "one", "posted_at": ARRIVED, "posted_by": "rhea", "time_zone": "America/Denver"}
    return from_plain(Visit, body | ours)


@pytest.fixture(scope="session")
def assessed() -> Callable[..., Assessment]:
    """Assesses a visit: lines of readings, `known` of the unit, `system`, and other fields of the visit."""

    def do(*readings: str, known: dict[str, Any] | None = None, system: str = "us", **more: Any) -> Assessment:
        return assess(visit(*readings, **more), unit(**known or {}), system)

    return do


@pytest.fixture(scope="session")
def findings(assessed: Callable[..., Assessment]) -> Callable[..., dict[str, Finding]]:
    """The findings of a visit, by code."""

    def do(*readings: str, **more: Any) -> dict[str, Finding]:
        return {finding.code: finding for finding in assessed(*readings, **more).findings}

    return do
