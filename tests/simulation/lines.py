"""A made fleet as the lines of an import, so that it comes into the database the way a real one does."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any
from uuid import NAMESPACE_OID, uuid5

from tests.simulation.fleet import PLACES
from tests.simulation.plan import START, Made

Line = dict[str, Any]


def lines(fleet: Sequence[Made]) -> Iterator[Line]:
    """One customer a hundred units, one site a unit; then every visit in the order of time."""
    for number in range(0, len(fleet), 100):
        yield {"record": "customer", "code": f"c-{number}", "name": f"Customer {number}"}
    for number, made in enumerate(fleet):
        code = f"s-{number}"
        owner = f"c-{number // 100 * 100}"
        yield {"record": "site", "code": code, "customer": owner, "name": code, "time_zone": "UTC"}
        yield _unit(made.history.tag, code)
    visits = [visit for made in fleet for visit in _visits(made)]
    yield from sorted(visits, key=lambda visit: str(visit["arrived_at"]))


def _unit(tag: str, site: str) -> Line:
    parts = [
        {"code": place.code, "kind": place.kind, "feeds": list(place.feeds), "installed_on": START.isoformat()}
        | ({"rated_current": f"{place.rated_current.value} A"} if place.rated_current else {})
        | ({"rating": place.rating} if place.rating else {})
        for place in PLACES
    ]
    return {
        "record": "unit", "tag": tag, "site": site, "installed_on": START.isoformat(), "care_from": START.isoformat(),
        "components": parts,
        "supply": {"voltage": "115 V"}, "bath": {"target_strength": "35 mass%", "set_point": "270.9 K"},
    }  # fmt: skip


def _visits(made: Made) -> Iterator[Line]:
    stated: dict[date, Line] = defaultdict(lambda: {"readings": [], "tasks": [], "replacements": []})
    for reading in made.history.readings:
        read = reading.reading
        stated[reading.on]["readings"].append(
            {
                "quantity": "current",
                "component": read.component,
                "value": f"{float(read.value.value)!r} A",
                "when": "as_found",
            }
            if read.quantity == "current"
            else {"quantity": read.quantity, "value": f"{100 * float(read.value.value)!r} mass%", "when": "as_found"}
        )
    for task in made.history.performed:
        stated[task.on]["tasks"].append({"task": task.task, "result": task.result, "as_found": task.as_found})
    for event in made.history.replaced:
        stated[event.on]["replacements"].append(
            {"component": event.component, "reason": event.reason, "condition": event.condition, "evidence": "seen"}
        )
    for day, parts in stated.items():
        called = bool(parts["replacements"])
        yield {
            "record": "visit", "id": str(uuid5(NAMESPACE_OID, f"{made.history.tag} {day}")), "unit": made.history.tag,
            "kind": "service_call" if called else "maintenance", "arrived_at": f"{day}T12:00:00Z", **parts,
        }  # fmt: skip
