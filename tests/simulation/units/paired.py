"""Two planted faults at once, put to triage: answered as both, as a set with the step that splits it, or as one."""

from collections import Counter
from collections.abc import Iterator, Sequence
from random import Random
from typing import Any

from tests.simulation.units.engine import new_database, register
from tests.simulation.units.faults import FAULTS, OUTSIDE_THE_LIST, OUTSIDE_TRIAGE, together
from tests.simulation.units.triage import explanations_of
from tests.simulation.units.triaged import ask, question
from tests.simulation.units.unit import draw_unit
from tests.simulation.units.visits import Visit, draw_visit

IN_THE_LIST = tuple(fault for fault in FAULTS if fault.code not in (*OUTSIDE_THE_LIST, *OUTSIDE_TRIAGE))
VERDICTS = ("both", "set", "one alone", "neither")
Answer = dict[str, Any]


def two_faults(count: int, seed: int) -> list[Visit]:
    """Visits to units with two faults of which somebody complains, every group of readings taken."""
    rng, made = Random(seed), list[Visit]()
    while len(made) < count:
        unit = draw_unit(rng, f"GU-{len(made):05d}")
        possible = [fault for fault in IN_THE_LIST if fault.possible(unit)]
        first = rng.choice(possible)
        second = rng.choice([fault for fault in possible if together(first, fault)] or possible)
        if together(first, second):
            codes = (first.code, second.code)
            visit = draw_visit(rng, len(made), healthy=False, codes=codes, unit=unit, complete=True)
            made += [visit] if visit.scene.complaint else []
    return made


def verdict(answer: Answer, right: frozenset[str]) -> str:
    """How an answer names two faults: both first, as a set or a second fault with the step that shows it, or less."""
    first = answer["explanations"][0]
    named = {first["code"], first["with"]} - {None}
    if named == right:
        return "both"
    sets = [set(each["codes"]) for each in answer["cannot_separate"] if each["split_by"]]
    beside = {each["beside"] for each in answer["second_faults"]} | {each["code"] for each in answer["second_faults"]}
    if any(right <= each for each in [*sets, beside]):
        return "set"
    return "one alone" if right & named else "neither"


def pair_lines(count: int, seed: int) -> Iterator[str]:
    """The report on visits with two faults, all their readings taken."""
    visits = two_faults(count, seed)
    with new_database() as database:
        register(database, visits)
        rng = Random(seed)
        with database.reading() as store:
            found = [(explanations_of(v.truth), ask(store, question(rng, v, 1.0))) for v in visits]
    yield from _lines(found)


def _lines(found: Sequence[tuple[frozenset[str], Answer]]) -> Iterator[str]:
    counts = Counter(verdict(answer, right) for right, answer in found)
    shares = ", ".join(f"{name} {counts[name] / len(found):.1%}" for name in VERDICTS)
    yield f"two faults at once, {len(found)} visits with all readings: {shares}"
