"""Visits in one line a reading, and what the assessment says of them.

"bath_temperature 80 degF @20" is read as left, 20 minutes after the arrival; "[pump-1]" names component or tap,
"~20 degC" the sample's temperature, "found" an as-found reading.
"""

import re
from collections.abc import Callable
from datetime import UTC, date, datetime
from typing import Any

import pytest

from service.domain.assessment.assess import assess
from service.domain.assessment.statement import Assessment, Statement
from service.domain.record.fleet import Unit
from service.domain.record.structure import build
from service.domain.record.visits import Visit
from service.schemas.units import UnitSchema
from service.schemas.visits import VisitSchema

LINE = re.compile(
    r"(?P<quantity>\w+)(?:\[(?P<place>[\w-]+)\])? (?P<value>[^@~]+?)(?: ~(?P<sample>[^@]+?))?(?: @(?P<at>\d+))?"
    r"(?P<found> found)?"
)
ARRIVED = datetime(2026, 6, 9, 19, 5, tzinfo=UTC)


def reading(line: str) -> dict[str, Any]:
    """The body of a reading from its line."""
    told = LINE.fullmatch(line)
    assert told, line
    body = {"quantity": told["quantity"], "value": told["value"], "when": "as_found" if told["found"] else "as_left"}
    if told["place"]:
        body["tap" if told["quantity"] == "beer_temperature_at_tap" else "component"] = told["place"]
    if told["sample"]:
        body["sample_temperature"] = told["sample"]
    if told["at"]:
        hours, minutes = divmod(int(told["at"]) + 5, 60)
        body["at"] = f"2026-06-09T{19 + hours}:{minutes:02}:00Z"
    return body


def unit(**known: Any) -> Unit:
    """A unit of which only this is known."""
    body = UnitSchema().load({"tag": "GU-0007", "site": "lantern-quay", **known})
    return build(Unit, {"registered_on": date(2023, 5, 2), **body})


def visit(*readings: str, **more: Any) -> Visit:
    """A visit with these readings."""
    frame = {"unit": "GU-0007", "kind": "service_call", "arrived_at": "2026-06-09T13:05:00-06:00"}
    body = VisitSchema().load(frame | {"readings": [reading(line) for line in readings]} | more)
    ours = {"id": "one", "posted_at": ARRIVED, "posted_by": "rhea", "time_zone": "America/Denver"}
    return build(Visit, body | ours)


@pytest.fixture(scope="session")
def assessed() -> Callable[..., Assessment]:
    """Assesses a visit: lines of readings, `known` of the unit, `system`, and whatever else the visit says."""

    def do(*readings: str, known: dict[str, Any] | None = None, system: str = "us", **more: Any) -> Assessment:
        return assess(visit(*readings, **more), unit(**known or {}), system)

    return do


@pytest.fixture(scope="session")
def said(assessed: Callable[..., Assessment]) -> Callable[..., dict[str, Statement]]:
    """What an assessment says, by code."""

    def do(*readings: str, **more: Any) -> dict[str, Statement]:
        return {statement.code: statement for statement in assessed(*readings, **more).statements}

    return do
