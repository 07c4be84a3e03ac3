"""Lines of an import as an office writes them, and a recorder that forgets, is late and errs as far as a plan says."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import NAMESPACE_OID, uuid5

import numpy as np

from tests.simulation.truth import Fleet, Line, Plan

NOON = time(12)
CONDITION_NOT_FAILED = ("good", "worn", "unknown")


def instant(day: date, days_later: float = 0.0) -> datetime:
    """Noon of a day, or days after it."""
    return datetime.combine(day, NOON, UTC) + timedelta(days=days_later)


def reading(quantity: str, value: str, component: str | None = None, when: str = "as_found") -> Line:
    """A reading; `value` is a number and unit."""
    return {"quantity": quantity, "value": value, "when": when} | ({"component": component} if component else {})


def task(code: str, result: str = "done", as_found: str | None = None, reason: str | None = None) -> Line:
    """A task's result."""
    shown = {"as_found": as_found, "reason": reason}
    return {"task": code, "result": result} | {key: value for key, value in shown.items() if value}


def part(component: str, condition: str = "burnt", reason: str = "failed", **more: Any) -> Line:
    """A replacement that we saw."""
    return {"component": component, "reason": reason, "condition": condition, "evidence": "seen"} | more


def visit(unit: str, day: date, kind: str = "maintenance", number: int = 0, **parts: Any) -> Line:
    """A visit at noon; its id follows from the unit, the day and the number."""
    key = str(uuid5(NAMESPACE_OID, f"{unit} {day} {number}"))
    line = {"record": "visit", "id": key, "unit": unit, "kind": kind, "arrived_at": f"{day}T12:00:00Z"}
    return line | {name: value for name, value in parts.items() if value}


class Recorder:
    """Writes a fleet's visits; what is missing, wrong or late is drawn."""

    def __init__(self, fleet: Fleet, plan: Plan, rng: np.random.Generator) -> None:
        self.fleet, self.plan, self.rng = fleet, plan, rng
        self.count = 0

    def visit(
        self,
        unit: str,
        day: date,
        kind: str,
        *,
        readings: Sequence[Line] = (),
        tasks: Sequence[Line] = (),
        parts: Sequence[Line] = (),
        late: float = 0.1,
        **more: Any,
    ) -> str:
        """Record a visit, days after it where the technician is late; its id."""
        self.count += 1
        kept = [each for each in readings if self.rng.random() >= self.plan.missing]
        logged = [each for each in tasks if self.rng.random() >= self.plan.unlogged]
        shown = [self._judged(each) for each in parts]
        line = visit(unit, day, kind, self.count, readings=kept, tasks=logged, replacements=shown, **more)
        self.fleet.lines.append(line)
        self.fleet.recorded[line["id"]] = instant(day, late)
        return str(line["id"])

    def _judged(self, part: Line) -> Line:
        """The replacement with the reason that the technician chose."""
        if self.rng.random() >= self.plan.wrong_reasons:
            return part
        if part["reason"] == "failed":
            return part | {"reason": str(self.rng.choice(["precaution", "unknown"]))}
        return part | {"reason": "failed"}


def nameplate(plan: Plan, rng: np.random.Generator, **fields: Any) -> Line:
    """What is read off a nameplate, nothing where there is none."""
    return {} if rng.random() < plan.no_nameplate else fields
