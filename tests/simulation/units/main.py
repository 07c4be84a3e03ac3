"""The command `python -m tests.simulation units [--visits N] [--triage N] [--pairs N] [--seed S]`."""

import argparse
import time
from collections.abc import Sequence
from random import Random

from tests.simulation.units.engine import assessed, new_database, register
from tests.simulation.units.paired import pair_lines
from tests.simulation.units.report import Answered, lines, measured
from tests.simulation.units.triaged import there_is_triage, triage_lines
from tests.simulation.units.visits import Visit, draw_visit

SHARE_SOUND = 0.6
DANGEROUS = ("controller_dark_or_not_calling", "overheated_terminal", "overload", "ethylene", "evaporator_iced")


def drawn(count: int, seed: int) -> list[Visit]:
    """Visits to sound units, and to units with faults; every eighth of those has a danger planted in turn."""
    rng = Random(seed)
    sound = round(SHARE_SOUND * count)
    healthy = [draw_visit(rng, n, healthy=True) for n in range(sound)]
    faulty = [
        draw_visit(rng, n, healthy=False, codes=(DANGEROUS[n // 2 % len(DANGEROUS)],) if n % 2 else ())
        for n in range(sound, count)
    ]
    return healthy + faulty


def calls(count: int, seed: int, *, complete: bool = False) -> list[Visit]:
    """Visits put to triage: nine of ten to units with a fault or two, most of which can be felt at the taps."""
    rng, made = Random(seed), list[Visit]()
    while len(made) < count:
        visit = draw_visit(rng, len(made), healthy=len(made) % 10 == 0, complete=complete)
        if not visit.truth.faults or (
            not visit.truth.outside_triage and (visit.scene.complaint or rng.random() < 0.25)
        ):
            made.append(visit)
    return made


def answered(visits: Sequence[Visit]) -> Answered:
    """The visits with the engine's findings."""
    with new_database() as database:
        register(database, visits)
        return list(zip(visits, assessed(database, [visit.body for visit in visits]), strict=True))


def main(arguments: Sequence[str]) -> None:
    """Simulate, assess, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.simulation units")
    parser.add_argument("--visits", type=int, default=2500)
    parser.add_argument("--seed", type=int, default=20260601)
    parser.add_argument("--triage", type=int, default=600, help="visits that are put to triage")
    parser.add_argument("--pairs", type=int, default=150, help="visits with two faults that are put to triage")
    options = parser.parse_args(arguments)
    began = time.perf_counter()
    visits = drawn(options.visits, options.seed)
    spent = time.perf_counter() - began
    print(f"{len(visits)} visits, seed {options.seed}, simulated in {spent:.1f} s: {len(visits) / spent:.0f} a second")
    for line in lines(measured(answered(visits))):
        print(line, flush=True)
    if options.triage and there_is_triage():
        complete = calls(options.triage, options.seed + 1, complete=True)
        for line in triage_lines(complete, calls(options.triage, options.seed + 2), options.seed):
            print(line, flush=True)
    if options.pairs and there_is_triage():
        for line in pair_lines(options.pairs, options.seed + 3):
            print(line, flush=True)
