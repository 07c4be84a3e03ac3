"""Units whose parts fail by a hazard a day: the state of the unit multiplies it, whether it was planted or not.

A fouled condenser raises the current, the heat of a contact goes with its square, and life halves per 10 K
(Arrhenius, common practice); slush wears a pump from 27 % by mass down. Strengths are judged.
"""

import numpy as np

from tests.simulation.plan import BASE, DAYS, PLANTED, YEAR, Plan, Truth


def units(size: int, rng: np.random.Generator, plan: Plan) -> list[Truth]:
    """So many units of three years."""
    return [_unit(f"GU-{i:05d}", rng, plan) for i in range(size)]


def _unit(tag: str, rng: np.random.Generator, plan: Plan) -> Truth:
    planted = planted_of(rng, plan)
    visits, cleaned, age = visits_of(rng, dirty=planted == "dirty")
    fouled, strength = _fouled(age, plan.hazard), _strength(planted, plan.hazard)
    extra = _extra(planted, fouled, strength, str(rng.choice(list(BASE))))
    shape = 1.0 / plan.spread**2
    frailty = rng.gamma(shape, 1.0 / shape)
    failures: list[tuple[int, str, str]] = []
    for kind, base in BASE.items():
        rate = base * frailty * plan.rate / YEAR
        failures += [(day, kind, origin) for day, origin in _failures(rng, rate, extra.get(kind, {}))]
    failures += [
        (min(DAYS - 1, day + int(rng.integers(3, 40))), kind, "repeat")
        for day, kind, _ in failures
        if rng.random() < plan.repeats
    ]
    return Truth(tag, planted, visits, cleaned, fouled, strength, tuple(sorted(failures)))


def planted_of(rng: np.random.Generator, plan: Plan) -> str:
    """What is wrong with a unit."""
    return str(rng.choice(list(PLANTED), p=list(PLANTED.values()))) if plan.planted else "none"


def visits_of(rng: np.random.Generator, *, dirty: bool) -> tuple[tuple[int, ...], tuple[int, ...], np.ndarray]:
    """Quarterly visits, some missed; the condenser cleaned at most of them, seldom where nobody cares; its age."""
    onset = rng.integers(0, 540) if dirty else DAYS
    visits = tuple(int(d + rng.integers(-7, 8)) for d in range(45, DAYS - 8, 91) if rng.random() > 0.08)
    cleaned = tuple(d for d in visits if rng.random() < (0.25 if d >= onset else 0.92))
    days, marks = np.arange(DAYS), np.array([0, *cleaned])
    return visits, cleaned, days - marks[np.searchsorted(marks, days, side="right") - 1]


def _fouled(age: np.ndarray, hazard: str) -> np.ndarray:
    if hazard == "step":
        return (age > 130) * 1.0
    if hazard == "slow":
        return np.clip((age - 45) / 200, 0, 1)
    return np.clip((age - 60) / 150, 0, 1) ** 1.5


def _strength(planted: str, hazard: str) -> np.ndarray:
    fall = 0.00030 if planted == "weak" else 0.00003
    start = 0.36 if hazard == "slow" else 0.35
    return np.maximum(start - fall * np.arange(DAYS), 0.05)


def _extra(planted: str, fouled: np.ndarray, strength: np.ndarray, odd: str) -> dict[str, dict[str, np.ndarray]]:
    extra = {
        "power_switch": {"dirty": 2 ** (3 * fouled) - 1, "under": np.full(DAYS, 5.0 * (planted == "under"))},
        "pump": {"weak": np.clip((0.27 - strength) / 0.05, 0, 1.4) * 5},
        "compressor": {"dirty": 2.0 * fouled},
    }
    if planted == "odd":
        extra.setdefault(odd, {})["odd"] = np.full(DAYS, 4.0)
    return extra


def _failures(rng: np.random.Generator, base: float, extra: dict[str, np.ndarray]) -> list[tuple[int, str]]:
    total = base * (1 + sum(extra.values(), np.zeros(DAYS)))
    made = []
    for day in np.flatnonzero(rng.random(DAYS) < total):
        weights = np.array([1.0, *(each[day] for each in extra.values())])
        made.append((int(day), ["base", *extra][rng.choice(len(weights), p=weights / weights.sum())]))
    return made
