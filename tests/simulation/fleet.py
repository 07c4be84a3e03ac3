"""From what happened to what was written down: readings are missing, cleanings forgotten, conditions misjudged."""

from dataclasses import replace
from datetime import timedelta

import numpy as np

from service.domain.record.part_replaced import PartReplaced
from service.domain.record.unit_log import Performed, ReadingTaken
from service.domain.root_causes.history import FailureHistory
from tests.simulation import damage, hazards
from tests.simulation.plan import DAYS, START, Made, Plan, Truth
from tests.simulation.values import component, done, taken

TYPICAL, ELSE = 0.85, 0.35  # how often a part shows the cause's mark, with and without the cause; judged
MARKS = {
    "power_switch": ("burnt", "open_circuit"), "pump": ("seized", "worn"), "compressor": ("burnt", "seized"),
    "temperature_controller": ("burnt", "stuck"), "condenser_fan": ("burnt", "seized"),
}  # fmt: skip
PLACES = (
    component("switch-1", "power_switch", ("compressor-1", "pump-1"), 20.0, "ac_only"),
    component("pump-1", "pump", (), 5.8),
    component("controller-1", "temperature_controller"),
    component("fan-1", "condenser_fan"),
    component("compressor-1", "compressor", (), 7.0),
)
CODE_OF = {place.kind: place.code for place in PLACES}


def fleet(size: int, seed: int, plan: Plan) -> list[Made]:
    """So many units of three years, made by the plan's hazard."""
    rng = np.random.default_rng(seed)
    source = damage if plan.hazard == "damage" else hazards
    return [_made(truth, rng, plan) for truth in source.units(size, rng, plan)]


def _made(truth: Truth, rng: np.random.Generator, plan: Plan) -> Made:
    end = START + timedelta(days=DAYS)
    readings, tasks = _visits(truth, rng, plan)
    replaced = [_replaced(truth.tag, i, each, rng) for i, each in enumerate(truth.failures)]
    history = FailureHistory(truth.tag, START, end, PLACES, supply_voltage=115.0, target_strength=0.35)
    if plan.no_nameplate or plan.wrong_reasons or plan.precautions:
        history, replaced = _damaged(history, replaced, rng, plan)
    origins = tuple((kind, START + timedelta(days=d), origin) for d, kind, origin in truth.failures)
    return Made(replace(history, readings=readings, performed=tasks, replaced=tuple(replaced)), truth.planted, origins)


def _visits(
    truth: Truth, rng: np.random.Generator, plan: Plan
) -> tuple[tuple[ReadingTaken, ...], tuple[Performed, ...]]:
    load = (19.5 if truth.planted == "under" else 12.5) * (1 + 0.22 * truth.fouled)
    readings, tasks = [], []
    for d in sorted({*truth.visits, *(day for day, _, _ in truth.failures)}):
        day = START + timedelta(days=d)
        if rng.random() > plan.missing:
            found = truth.strength[d] + rng.normal(0, 0.01)
            readings.append(taken("glycol_strength", None, found, "mass_fraction", day))
        if rng.random() > plan.missing:
            amps = load[d] * rng.normal(1, 0.04)
            readings.append(taken("current", "switch-1", amps, "current", day))
        if d in truth.cleaned and rng.random() > plan.unlogged:
            tasks.append(done("condenser_clean", day, "done", _seen(truth.fouled[max(0, d - 1)])))
    return tuple(readings), tuple(tasks)


def _seen(fouled: float) -> str:
    return "clean" if fouled < 0.1 else "light" if fouled < 0.4 else "heavy" if fouled < 0.8 else "blocked"


def _replaced(tag: str, number: int, failure: tuple[int, str, str], rng: np.random.Generator) -> PartReplaced:
    d, kind, origin = failure
    typical = rng.random() < (ELSE if origin in ("base", "repeat") else TYPICAL)
    day, condition = START + timedelta(days=d), MARKS[kind][not typical]
    return PartReplaced(CODE_OF[kind], kind, day, "failed", condition, "seen", "us", f"{tag}-{number}")


def _damaged(
    history: FailureHistory, replaced: list[PartReplaced], rng: np.random.Generator, plan: Plan
) -> tuple[FailureHistory, list[PartReplaced]]:
    """The same with plates that cannot be read, sound parts put in beside the bad ones, and reasons that are wrong."""
    if rng.random() < plan.no_nameplate:
        history = replace(history, components=tuple(component(p.code, p.kind, p.feeds) for p in PLACES))
    written = []
    for each in replaced:
        written.append(each)
        if rng.random() < plan.precautions:
            other = str(rng.choice([kind for kind in CODE_OF if kind != each.kind]))
            written.append(replace(each, component=CODE_OF[other], kind=other, reason="precaution", condition="good"))
    return history, [_judged(each, rng, plan) for each in written]


def _judged(part: PartReplaced, rng: np.random.Generator, plan: Plan) -> PartReplaced:
    if rng.random() >= plan.wrong_reasons:
        return part
    wrong = str(rng.choice(["precaution", "unknown"])) if part.reason == "failed" else "failed"
    return replace(part, reason=wrong)
