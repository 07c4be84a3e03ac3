"""Units whose parts gather damage until they give way: wear-out instead of a hazard, and another law for every cause.

A part lasts until its damage reaches a threshold drawn from a Weibull of shape 1.6 (Miner's rule of cumulative damage;
the shape is judged). A fouled condenser heats a contact by the square of its current and damage doubles per 10 K
(Arrhenius, common practice); slush grinds a pump only while the bath is colder than the mix can bear, season by season.
"""

import math

import numpy as np

from tests.simulation.hazards import planted_of, visits_of
from tests.simulation.plan import BASE, DAYS, YEAR, Plan, Truth

SHAPE = 1.6


def units(size: int, rng: np.random.Generator, plan: Plan) -> list[Truth]:
    """So many units of three years."""
    return [_unit(f"GU-{i:05d}", rng, plan) for i in range(size)]


def _unit(tag: str, rng: np.random.Generator, plan: Plan) -> Truth:
    planted = planted_of(rng, plan)
    visits, cleaned, age = visits_of(rng, dirty=planted == "dirty")
    summer = 0.5 - 0.5 * np.cos(2 * math.pi * (np.arange(DAYS) - 20) / YEAR)
    fouled = np.clip(1.0 - np.exp(-np.maximum(age - 50, 0) / 90.0), 0, 1)
    strength = np.maximum(0.35 - (0.0003 if planted == "weak" else 0.00003) * np.arange(DAYS), 0.05)
    speeds = _speeds(planted, fouled, strength, summer, str(rng.choice(list(BASE))))
    harsh = float(np.exp(rng.normal(-0.5 * plan.spread**2, plan.spread)))
    failures = [
        (day, kind, origin)
        for kind, base in BASE.items()
        for day, origin in _lives(rng, base * harsh * plan.rate, speeds.get(kind, {}))
    ]
    return Truth(tag, planted, visits, cleaned, fouled, strength, tuple(sorted(failures)))


def _speeds(
    planted: str, fouled: np.ndarray, strength: np.ndarray, summer: np.ndarray, odd: str
) -> dict[str, dict[str, np.ndarray]]:
    kelvin = 24.0 * ((1 + 0.25 * fouled * (0.6 + 0.8 * summer)) ** 2 - 1)
    speeds = {
        "power_switch": {"dirty": 2 ** (kelvin / 5.0) - 1, "under": np.full(DAYS, 6.0 * (planted == "under"))},
        "pump": {"weak": np.where(strength < 0.26, 7.0 * (0.5 + summer), 0.0)},
        "compressor": {"dirty": 2.5 * fouled * summer},
    }
    if planted == "odd":
        speeds.setdefault(odd, {})["odd"] = np.full(DAYS, 5.0)
    return speeds


def _lives(rng: np.random.Generator, rate: float, extra: dict[str, np.ndarray]) -> list[tuple[int, str]]:
    """One life after another; a failure is put down to a cause by its share of that life's damage."""
    mean = math.gamma(1 + 1 / SHAPE)
    parts = np.vstack([np.ones(DAYS), *extra.values()]) * rate / YEAR
    made, day, first = [], 0, rng.random()
    while day < DAYS:
        threshold = rng.weibull(SHAPE) / mean * (first if not made else 1.0)  # the first is not new at the start
        gone = np.cumsum(parts[:, day:].sum(axis=0))
        end = int(np.searchsorted(gone, threshold))
        if day + end >= DAYS:
            break
        share = parts[:, day : day + end + 1].sum(axis=1)
        made.append((day + end, ["base", *extra][rng.choice(len(share), p=share / share.sum())]))
        day += end + 1
    return made
