"""A fleet drawn from the table: exposures, failures by exponential waiting, and the record of three years."""

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from tests.simulation.records import Recorder, nameplate, part, reading, task
from tests.simulation.risks.table import (
    CODES,
    EXPOSURES,
    GRADES,
    LOOKS,
    RATES,
    SHAPE,
    SHARE_READ,
    UNSEEN_RISK,
    USUAL,
    Exposure,
)
from tests.simulation.truth import ORDINARY, Failure, Fleet, Line, Plan, Planted

START, DAYS, YEAR = date(2022, 1, 1), 1096, 365.25
OLD = 0.4  # share of units that were there before our care
MARKED = ("clean", "light", "heavy", "blocked")


@dataclass(frozen=True, slots=True)
class Exposed:
    """An exposure of a unit from one day to another."""

    what: Exposure
    first: float
    last: float

    def on(self, day: float) -> bool:
        """Whether it lasts on a day."""
        return self.first <= day < self.last


def fleet(size: int, seed: int, plan: Plan) -> Fleet:
    """So many units of three years."""
    rng = np.random.default_rng(seed)
    made = Fleet()
    recorder = Recorder(made, plan, rng)
    for number in range(0, size, 10):
        made.lines.append({"record": "customer", "code": f"c-{number}", "name": f"Customer {number}"})
    for number in range(size):
        site = {"code": f"s-{number}", "customer": f"c-{number // 10 * 10}", "name": f"s-{number}", "time_zone": "UTC"}
        made.lines.append({"record": "site"} | site)
        _unit(f"R-{number:04d}", f"s-{number}", recorder)
    visits = [line for line in made.lines if line["record"] == "visit"]
    others = [line for line in made.lines if line["record"] != "visit"]
    made.lines[:] = [*others, *sorted(visits, key=lambda line: line["arrived_at"])]
    return made


def _unit(tag: str, site: str, recorder: Recorder) -> None:
    rng, made, plan = recorder.rng, recorder.fleet, recorder.plan
    exposed = _exposed(rng) if plan.planted else ()
    made.planted += [Planted("unit", tag, e.what.cause, tuple(e.what.risks), frozenset([tag])) for e in exposed]
    made.watched_from[tag] = START
    made.lines.append(_line(tag, site, min((each.what.rating for each in exposed), default=20.0), recorder))
    step = int(rng.integers(70, 110))
    for day in range(int(rng.integers(5, step)), DAYS - 1, step):
        read, tasks = _read(exposed, day, rng), _tasks(exposed, day, rng)
        recorder.visit(tag, _day(day), "maintenance", readings=read, tasks=tasks)
    for day, kind, cause in _failures(exposed, plan, rng):
        _repair(tag, exposed, (day, kind, cause), recorder)


def _exposed(rng: np.random.Generator) -> tuple[Exposed, ...]:
    found = []
    for each in EXPOSURES:
        if rng.random() < each.share:
            length = rng.uniform(*each.years) * YEAR
            first = rng.uniform(0, max(0.0, DAYS - length))
            unseen = {str(rng.choice(list(RATES))): UNSEEN_RISK}
            found.append(Exposed(each if each.risks else replace(each, risks=unseen), first, first + length))
    return tuple(found)


def _line(tag: str, site: str, rating: float, recorder: Recorder) -> Line:
    parts: list[Line] = [{"code": code, "kind": kind} for kind, code in CODES.items()]
    parts[0] |= nameplate(recorder.plan, recorder.rng, rated_current=f"{rating:.0f} A", rating="ac_only")
    old = int(recorder.rng.integers(300, 4500)) if recorder.rng.random() < OLD else 0
    return {
        "record": "unit", "tag": tag, "site": site, "installed_on": _day(-old).isoformat(), "components": parts,
        "care_from": START.isoformat(), "registered_on": START.isoformat(), "supply": {"voltage": "115 V"},
        "bath": {"target_strength": "35 mass%", "set_point": "28 degF"},
    }  # fmt: skip


def _failures(exposed: tuple[Exposed, ...], plan: Plan, rng: np.random.Generator) -> list[tuple[int, str, str]]:
    """Each with the exposure that made it, drawn by its share of the rate above that of an unexposed part."""
    factor = rng.gamma(SHAPE, 1 / SHAPE)
    made = []
    for kind, base in RATES.items():
        highest = float(np.prod([each.what.risks.get(kind, 1.0) for each in exposed]))
        rate = base * factor * plan.rate / YEAR
        day = rng.exponential(1 / (rate * highest))
        while day < DAYS - 1:
            risks = {each.what.cause: each.what.risks.get(kind, 1.0) for each in exposed if each.on(day)}
            drawn = rng.random() * highest
            if drawn < float(np.prod(list(risks.values()))):
                made.append((int(day), kind, _cause(risks, drawn)))
            day += rng.exponential(1 / (rate * highest))
    return sorted(made)


def _cause(risks: dict[str, float], drawn: float) -> str:
    """Which exposure made a failure; `drawn` is below the product of the risks."""
    if drawn < 1.0:
        return ORDINARY
    return max(risks, key=lambda cause: risks[cause])


def _day(number: int) -> date:
    return START + timedelta(days=number)


def _read(exposed: tuple[Exposed, ...], day: int, rng: np.random.Generator) -> list[Line]:
    found = []
    for (quantity, component), usual in USUAL.items():
        what = (quantity, component)
        changed = (each.what.reads[what] for each in exposed if each.on(day) and what in each.what.reads)
        mean, spread, unit = next(changed, usual)
        if rng.random() < SHARE_READ.get(quantity, 0.8):
            found.append(reading(quantity, f"{max(0.005, rng.normal(mean, spread)):.3f} {unit}", component))
    return found


def _tasks(exposed: tuple[Exposed, ...], day: int, rng: np.random.Generator) -> list[Line]:
    now = [each.what for each in exposed if each.on(day)]
    found = []
    for code, usual in GRADES.items():
        shares = next((each.grades[code] for each in now if code in each.grades), usual)
        done = rng.random() < min((each.cleaned for each in now), default=0.92)
        seen = str(rng.choice(MARKED, p=shares)) if rng.random() < 0.75 else None
        found.append(task(code, "done" if done else "not_done", seen, None if done else "no time"))
    return found


def _repair(tag: str, exposed: tuple[Exposed, ...], failure: tuple[int, str, str], recorder: Recorder) -> None:
    (day, kind, cause), rng = failure, recorder.rng
    if rng.random() < recorder.plan.unrecorded:
        recorder.fleet.failures.append(Failure(tag, kind, CODES[kind], _day(day), cause, ""))
        return
    marks = next((each.what.looks.get(kind) for each in exposed if each.what.cause == cause), None)
    looks = marks if marks and cause != ORDINARY else LOOKS[kind]
    parts = [part(CODES[kind], str(rng.choice(list(looks), p=list(looks.values()))))]
    if rng.random() < recorder.plan.precautions:
        other = str(rng.choice([code for code in CODES.values() if code != CODES[kind]]))
        parts.append(part(other, "good", "precaution"))
    late = float(rng.exponential(1.5))
    key = recorder.visit(
        tag, _day(day), "service_call", readings=_read(exposed, day, rng), parts=parts,
        tasks=_tasks(exposed, day, rng)[:1] if rng.random() < 0.3 else (), late=late,
    )  # fmt: skip
    recorder.fleet.failures.append(Failure(tag, kind, CODES[kind], _day(day), cause, key))
