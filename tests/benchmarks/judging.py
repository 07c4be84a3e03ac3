"""What the numbers say: the assessment of a visit with 12 readings, and triage by the same readings.

Processor time, which other work on the machine moves less. The visits are those of the simulator of units. The floor of
the assessment is reading the visit's body by its schema; that of triage the inversion of one matrix of 12 readings for
each of its hypotheses.
"""

from collections.abc import Callable, Iterator
from random import Random
from time import process_time
from typing import Any

import numpy as np

from service.domain.assessment.assess import assess
from service.domain.instants import parse_instant
from service.domain.plain import from_plain
from service.domain.record.fleet import Unit
from service.domain.record.visits import Visit
from service.domain.triage.diagnose import diagnose
from service.domain.triage.question import Question, Seen
from service.schemas.reading import read
from service.schemas.units import UnitSchema
from service.schemas.visits import VisitSchema
from tests.benchmarks.ratios import Figure, quantile
from tests.benchmarks.run import Run
from tests.simulation.units.seen import seen
from tests.simulation.units.visits import GAUGES, draw_visit

READINGS, VISITS, HYPOTHESES = 12, 40, 600
FRAME = {"id": "not stored", "posted_at": parse_instant("2026-06-09T21:00:00Z"), "posted_by": "", "time_zone": "UTC"}
Case = tuple[Unit, Visit, dict[str, Any], tuple[Seen, ...], str | None]


def assessing(run: Run) -> Iterator[Figure]:
    """The assessment of a visit with 12 readings."""
    yield from _figures(
        "assessment of a visit with 12 readings",
        2.0,
        [(lambda u=u, v=v: assess(v, u, "us", None), lambda b=b: read(VisitSchema(), b)) for u, v, b, _, _ in _drawn()],
        run.rounds,
    )


def diagnosing(run: Run) -> Iterator[Figure]:
    """Triage by 12 readings and what is seen beside them."""
    matrices = np.tile(np.eye(READINGS) + 0.1, (HYPOTHESES, 1, 1))
    questions = [Question(unit=u, symptom=s, readings=v.readings, seen=n) for u, v, _, n, s in _drawn()]
    yield from _figures(
        "triage by 12 readings",
        50.0,
        [(lambda q=q: diagnose(q, "us"), lambda: np.linalg.inv(matrices)) for q in questions],
        run.rounds,
    )


def _drawn() -> list[Case]:
    """Visits with 12 readings as found, to units with a fault or without."""
    rng, found = Random(12), list[Case]()
    while len(found) < VISITS:
        visit = draw_visit(rng, len(found), healthy=len(found) % 2 == 0, complete=True)
        readings = [each for each in visit.body["readings"] if each["when"] == "as_found"]
        if len(readings) < READINGS:
            continue
        body = {**visit.body, "readings": rng.sample(readings, READINGS)}
        record = read(UnitSchema(), {**visit.unit.records, "site": "simulated"})
        unit = from_plain(Unit, {"registered_on": FRAME["posted_at"].date(), **record})
        noted = tuple(Seen(**each) for each in seen(rng, visit.scene, GAUGES * 60.0))
        stored = from_plain(Visit, {**read(VisitSchema(), body), **FRAME})
        found.append((unit, stored, body, noted, visit.scene.complaint))
    return found


def _figures(
    what: str, goal: float, pairs: list[tuple[Callable[[], object], Callable[[], object]]], rounds: int
) -> Iterator[Figure]:
    """Milliseconds of the median visit in each round, and over the floor's."""
    taken, ratios = [], []
    for _ in range(rounds + 1):  # the first round fills caches
        spent = [(_timed(ours), _timed(floor)) for ours, floor in pairs]
        ours, floor = (quantile([each[n] for each in spent], 0.5) for n in (0, 1))
        taken.append(1e3 * ours)
        ratios.append(ours / floor)
    yield Figure(what, tuple(taken[1:]), unit="ms", goal=goal)
    yield Figure(f"{what} / its floor", tuple(ratios[1:]))


def _timed(act: Callable[[], object]) -> float:
    start = process_time()
    act()
    return process_time() - start
