"""Simulated visits put to triage: what is asked, with all readings or half of them, and what is answered."""

from collections.abc import Iterator, Sequence
from functools import partial
from importlib import import_module
from importlib.util import find_spec
from random import Random
from typing import Any

from service.schemas.reading import read
from service.usecases.system import FleetDatabase, Store
from tests.simulation.units.dialogue import compared, shares
from tests.simulation.units.engine import ACTOR, accepted, new_database, register
from tests.simulation.units.seen import seen
from tests.simulation.units.text import of
from tests.simulation.units.triage import Ranked, calibrated, confusion, explanations_of, score
from tests.simulation.units.visits import GAUGES, Visit

TALKED = 100  # calls carried through as a dialogue
Pair = tuple[Ranked, frozenset[str]]


def there_is_triage() -> bool:
    """Whether the engine has it."""
    return find_spec("service.usecases.diagnosis.triage") is not None


def question(rng: Random, visit: Visit, share: float) -> dict[str, Any]:
    """What was found at a visit, or a share of it, as the body of POST /v1/triage."""
    found = accepted([reading for reading in visit.body["readings"] if reading["when"] == "as_found"])
    noted = seen(rng, visit.scene, GAUGES * 60.0)
    readings = [reading for reading in found if rng.random() < share]
    observations = [each for each in noted if rng.random() < share]
    return {**call(visit), "readings": readings, "observations": observations}


def call(visit: Visit) -> dict[str, Any]:
    """What is known before anybody is there."""
    return {
        "unit": visit.unit.tag,
        "symptom": visit.scene.complaint,
        "elevation": of(visit.unit.elevation, "ft", 0),
    }


def ask(store: Store, body: dict[str, Any]) -> dict[str, Any]:
    """The answer of POST /v1/triage."""
    schemas, usecase = import_module("service.schemas.triage"), import_module("service.usecases.diagnosis.triage")
    found = usecase.triage(store, ACTOR, read(schemas.TriageQuestionSchema(), body), "us")
    answer: dict[str, Any] = schemas.triage_to_json(found, "us")
    return answer


def ranked(answer: dict[str, Any]) -> Ranked:
    """Each explanation with its probability, alone or beside another, likeliest first."""
    sets = tuple(frozenset(each["codes"]) for each in answer["cannot_separate"])
    return Ranked(tuple((code, min(share, 1.0)) for code, share in shares(answer).most_common()), sets)


def pairs(database: FleetDatabase, visits: Sequence[Visit], share: float, seed: int) -> list[Pair]:
    """What triage makes of each visit, beside the truth."""
    rng = Random(seed)
    with database.reading() as store:
        return [(ranked(ask(store, question(rng, visit, share))), explanations_of(visit.truth)) for visit in visits]


def triage_lines(complete: Sequence[Visit], visits: Sequence[Visit], seed: int) -> Iterator[str]:
    """The report on triage: of visits with every group of readings, and of visits as technicians make them."""
    with new_database() as database:
        register(database, complete)
        for name, share in (("all readings", 1.0), ("half of them", 0.5)):
            yield from _scored(name, pairs(database, complete, share, seed), complete)
    with new_database() as database:
        register(database, visits)
        yield from _scored("those of an ordinary visit", pairs(database, visits, 1.0, seed), visits)
        with database.reading() as store:
            talked = [
                (visit.scene, call(visit), explanations_of(visit.truth))
                for visit in visits[:: max(len(visits) // TALKED, 1)]
            ]
            yield from compared(talked, partial(ask, store), seed)


def _scored(name: str, found: Sequence[Pair], visits: Sequence[Visit]) -> Iterator[str]:
    scored, alone = score(found), score([(Ranked(ranked.explanations), right) for ranked, right in found])
    sets = [len(together) for ranked, _ in found for together in ranked.cannot_separate]
    yield (
        f"triage, {name}: {scored.visits} visits, right first {scored.first:.1%}, among three "
        f"{scored.first_three:.1%}, mean rank {scored.mean_rank:.2f}; "
        f"{len(sets) / max(len(found), 1):.0%} answer a set, of "
        f"{sum(sets) / max(len(sets), 1):.1f} explanations; without sets {alone.first:.1%} and {alone.first_three:.1%}"
    )
    yield from _by_complaint(found, visits)
    yield from _calibration(found)
    yield from _confusion(found)


def _by_complaint(found: Sequence[Pair], visits: Sequence[Visit]) -> Iterator[str]:
    """Apart: units about which somebody complained, and those about which nobody did."""
    for about, complained in (("with a complaint", True), ("without one", False)):
        part = score(
            [pair for pair, visit in zip(found, visits, strict=True) if bool(visit.scene.complaint) is complained]
        )
        yield f"  {about}: {part.visits} visits, right first {part.first:.1%}, among three {part.first_three:.1%}"


def _calibration(found: Sequence[Pair]) -> Iterator[str]:
    for each in calibrated(found):
        yield (
            f"  stated {each.stated:.3f} -> right {each.right:.3f} of {each.count} "
            f"(99 % interval {each.low:.3f} to {each.high:.3f}), outside by {each.outside:.3f}"
        )


def _confusion(found: Sequence[Pair]) -> Iterator[str]:
    counts = confusion(found)
    for truth in sorted({truth for truth, _ in counts}):
        named = sorted(((said, n) for (true, said), n in counts.items() if true == truth), key=lambda item: -item[1])
        yield f"  {truth:32} " + ", ".join(f"{said} {n}" for said, n in named)
