"""Parts that take defects and fail of them, and goods and hands that are bad from the first day."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tests.simulation.defects.troubles import HARMS, YEAR, State
from tests.simulation.truth import ORDINARY

LUCK = {
    "power_switch": 0.11, "contactor": 0.13, "pump": 0.16, "temperature_controller": 0.09, "condenser_fan": 0.13,
    "compressor": 0.05, "start_capacitor": 0.12,
}  # fmt: skip
"""Defects a year by bad luck alone."""
DELAY = {
    "power_switch": 25, "contactor": 20, "pump": 40, "temperature_controller": 12, "condenser_fan": 35,
    "compressor": 60, "start_capacitor": 15,
}  # fmt: skip
"""Mean days from a defect to the failure."""
INHERITED = 1.6  # what was already old when we came
DEAD_ON_ARRIVAL = 0.03
SHORT = {"bad_parts": (0.55, 70.0), "after_repair": (0.3, 25.0)}  # share of the new parts, mean days of life
HEAT = ("condenser_fouled", "switch_undersized", "loose_terminal", "low_voltage", "high_voltage", "ambient_hot")
LOOKS = {
    "power_switch": ("burnt", "stuck"), "contactor": ("burnt", "stuck"), "pump": ("seized", "leaking"),
    "temperature_controller": ("burnt", "broken"), "condenser_fan": ("seized", "noisy"),
    "compressor": ("open_circuit", "seized"), "start_capacitor": ("open_circuit", "broken"),
}  # fmt: skip
"""What heat leaves of a part, and what else is found."""
CAVITATED = ("strainer_blocked", "bath_low")


@dataclass(slots=True)
class Part:
    """What sits in a position; `fails_on` is far away until it has a defect."""

    kind: str
    fails_on: int = 10**9
    cause: str = ORDINARY
    inherited: bool = False


def new_part(kind: str, day: int, rng: np.random.Generator, bad: Mapping[str, bool]) -> Part:
    """A part fitted today; `bad` says whether goods or hands are."""
    for cause, (share, days) in SHORT.items():
        if bad.get(cause) and rng.random() < share:
            return Part(kind, day + 1 + round(rng.exponential(days)), cause)
    if rng.random() < DEAD_ON_ARRIVAL:
        return Part(kind, day + 1 + round(rng.exponential(30)))
    return Part(kind)


def live_a_day(part: Part, code: str, state: State, luck: float, harm: Mapping[str, float]) -> None:
    """A sound part may take a defect today."""
    if part.fails_on < 10**9:
        return
    rates = {ORDINARY: luck * LUCK[part.kind] * (INHERITED if part.inherited else 1)}
    for cause, share in harm.items():
        trouble = state.at(cause)
        where = trouble.where if trouble and cause != "low_voltage" else ""
        rates[cause] = share * HARMS[cause].get(part.kind, 0) * (where in ("", code))
    drawn = state.rng.random() * YEAR
    for cause, rate in rates.items():
        if drawn < rate:
            part.cause = cause
            part.fails_on = state.day + 1 + round(state.rng.gamma(2, DELAY[part.kind] / 2))
            return
        drawn -= rate


def looks(part: Part, rng: np.random.Generator, carefully: float) -> str:
    """The condition that is written."""
    if rng.random() > 0.35 + 0.6 * carefully:
        return "unknown"
    hot, other = LOOKS[part.kind]
    if part.cause in CAVITATED:
        return str(rng.choice(["worn", "noisy", "leaking", "seized"], p=[0.3, 0.3, 0.2, 0.2]))
    share = 0.7 if part.cause in HEAT else 0.35
    return hot if rng.random() < share else str(rng.choice([other, "worn"], p=[0.7, 0.3]))
