"""A day's work with the generated Python client: `day.py ADDRESS TOKEN` prints what it was answered."""

import json
import sys
from datetime import datetime
from uuid import UUID

from glycol_fleet_client import AuthenticatedClient
from glycol_fleet_client.api.calls import post_call
from glycol_fleet_client.api.pm_list import pull_list
from glycol_fleet_client.api.summaries import service_summary
from glycol_fleet_client.api.visits import post_visit
from glycol_fleet_client.models import (
    Call,
    CalledBy,
    CallPost,
    MeasurementValue,
    PmList,
    Problem,
    Reading,
    ServiceSummary,
    TaskResult,
    Visit,
    VisitAnswer,
)


def visit() -> Visit:
    """A visit with readings, as text and as an object, and a task."""
    found = datetime.fromisoformat("2026-06-09T13:10:00-06:00")
    return Visit(
        id=UUID("0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b77"),
        unit="GU-0007",
        kind="maintenance",
        technician="rhea",
        arrived_at=datetime.fromisoformat("2026-06-09T13:05:00-06:00"),
        readings=[
            Reading(quantity="bath_temperature", value="47 degF", when="as_found", at=found),
            Reading(quantity="glycol_strength", value=MeasurementValue(value=12, unit="Brix"), when="as_found"),
        ],
        tasks=[TaskResult(task="condenser_clean", result="done", as_found="blocked")],
        outcome="recovering",
    )


def call() -> CallPost:
    """A call of a site."""
    return CallPost(
        id=UUID("0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1c01"),
        received_at=datetime.fromisoformat("2026-06-09T14:20:00-06:00"),
        unit="GU-0007",
        symptom="warm_pour",
        by=CalledBy(name="Ida, bar"),
    )


def main(address: str, token: str) -> None:
    """The list, a visit, its findings, a call, the customer's year, and a refusal."""
    client = AuthenticatedClient(base_url=address, token=token, raise_on_unexpected_status=True)
    listed = pull_list.sync(client=client)
    posted = post_visit.sync(client=client, body=visit())
    taken = post_call.sync(client=client, body=call())
    year = service_summary.sync(client=client, code="lantern", year=2026)
    wrong = post_visit.sync(client=client, body=Visit(id=UUID(int=5), unit="GU-9", kind="maintenance", arrived_at="x"))
    assert isinstance(listed, PmList)
    assert isinstance(posted, VisitAnswer)
    assert isinstance(taken, Call)
    assert isinstance(year, ServiceSummary)
    assert isinstance(wrong, Problem)
    answered = {
        "due": [item.unit for stop in listed.stops for item in stop.items],
        "findings": {finding.code: finding.severity for finding in posted.assessment.findings},
        "due_items": [item.task for item in posted.due_items],
        "call": [str(taken.id), taken.state],
        "year": year.year,
        "refusal": wrong.status,
    }
    print(json.dumps(answered))


main(*sys.argv[1:])
