"""Where a unit stands and what it is exposed to, day by day, and what was planted there."""

from dataclasses import dataclass, field

import numpy as np

from tests.simulation.truth import Plan

DAYS, YEAR = 1096, 365.25
NUMBERS = np.arange(DAYS)
SUMMER = 0.5 - 0.5 * np.cos(2 * np.pi * (NUMBERS - 20) / YEAR)
SURROUNDINGS = {"clean": 0.35, "dusty": 0.2, "greasy": 0.3, "outdoor": 0.15}
ROOM = {"clean": (21.0, 4.0), "dusty": (23.0, 6.0), "greasy": (27.0, 7.0), "outdoor": (6.0, 27.0)}  # winter, rise, degC
FOULING = {"clean": 480.0, "dusty": 260.0, "greasy": 190.0, "outdoor": 300.0}  # days to 63 % of the limit
INTERVAL = {"clean": 91, "dusty": 91, "greasy": 61, "outdoor": 91}
PLANTED = {
    "condenser_fouled": 0.055, "switch_undersized": 0.03, "loose_terminal": 0.025, "ambient_hot": 0.02,
    "glycol_weak": 0.025, "glycol_strong": 0.015, "bath_low": 0.015, "strainer_blocked": 0.015, "unexplained": 0.01,
}  # fmt: skip
SAGGING = 0.03  # of sites
HOT_ROOM = 15.0  # K above a usual room of the kind
HABITS = {"careful": 0.45, "busy": 0.35, "swapper": 0.2}


@dataclass(slots=True)
class Conditions:
    """A unit's days: room in degC, dirt 0 to 1, volts, strength by mass, level 0 to 1, strainer 0 to 1, pH."""

    surroundings: str
    habit: str
    visits: tuple[int, ...]
    room: np.ndarray
    dirt: np.ndarray
    volts: np.ndarray
    strength: np.ndarray
    level: np.ndarray
    strainer: np.ndarray
    acidity: np.ndarray
    rating: float = 20.0
    loose: int = DAYS
    planted: dict[str, tuple[int, int]] = field(default_factory=dict)
    cleaned: tuple[int, ...] = ()

    def active(self, cause: str) -> np.ndarray:
        """Which days the planted cause was there."""
        first, last = self.planted.get(cause, (DAYS, DAYS))
        return (first <= NUMBERS) & (last > NUMBERS)


def site_volts(rng: np.random.Generator, plan: Plan) -> tuple[np.ndarray, int]:
    """A site's voltage by day, and the day from which it sags, DAYS where it does not."""
    onset = int(rng.integers(0, 500)) if plan.planted and rng.random() < SAGGING else DAYS
    steady = rng.normal(117, 1.6) - 1.5 * SUMMER
    return np.where(onset <= NUMBERS, rng.normal(99.5, 1.5), steady), onset


def conditions(surroundings: str, volts: np.ndarray, rng: np.random.Generator, plan: Plan) -> Conditions:
    """A unit's days at a site of such surroundings."""
    planted = _planted(rng) if plan.planted else {}
    step = INTERVAL[surroundings]
    days = range(int(rng.integers(5, step)), DAYS - 8, step)
    visits = tuple(sorted({min(DAYS - 1, max(0, int(d + rng.integers(-9, 10)))) for d in days if rng.random() > 0.07}))
    winter, rise = ROOM[surroundings]
    room = winter + rng.normal(0, 1.5) + rise * SUMMER + HOT_ROOM * _within(planted, "ambient_hot")
    cleaned = _cleaned(visits, planted, rng)
    return Conditions(
        surroundings,
        str(rng.choice(list(HABITS), p=list(HABITS.values()))),
        visits,
        room,
        _dirt(cleaned, FOULING[surroundings], rng),
        volts,
        _strength(planted, rng),
        np.where(_within(planted, "bath_low"), rng.uniform(0.35, 0.6), rng.normal(0.92, 0.03)),
        np.where(_within(planted, "strainer_blocked"), rng.uniform(0.75, 1.0), rng.uniform(0.0, 0.35)),
        np.where(_within(planted, "unexplained"), rng.uniform(5.8, 6.6), rng.normal(8.8, 0.3)),
        rating=15.0 if "switch_undersized" in planted else 20.0,
        loose=planted.get("loose_terminal", (DAYS, DAYS))[0],
        planted=planted,
        cleaned=cleaned,
    )


def _planted(rng: np.random.Generator) -> dict[str, tuple[int, int]]:
    """Causes with the days from and until which they are there; few units have two, some are remedied."""
    found = {}
    for cause, share in PLANTED.items():
        if rng.random() < share:
            first = 0 if cause == "switch_undersized" else int(rng.integers(0, 420))
            remedied = rng.random() < 0.2
            found[cause] = (first, first + int(rng.integers(400, 700)) if remedied else DAYS)
    return found


def _within(planted: dict[str, tuple[int, int]], cause: str) -> np.ndarray:
    first, last = planted.get(cause, (DAYS, DAYS))
    return (first <= NUMBERS) & (last > NUMBERS)


def _cleaned(visits: tuple[int, ...], planted: dict[str, tuple[int, int]], rng: np.random.Generator) -> tuple[int, ...]:
    neglected = _within(planted, "condenser_fouled")
    made = [d for d in visits if rng.random() < (0.06 if neglected[d] else 0.93)]
    remedied = [last for cause, (_, last) in planted.items() if cause == "condenser_fouled" and last < DAYS]
    return tuple(sorted({*made, *remedied}))


def _dirt(cleaned: tuple[int, ...], scale: float, rng: np.random.Generator) -> np.ndarray:
    marks = np.array([-int(rng.integers(5, 90)), *cleaned])
    age = NUMBERS - marks[np.searchsorted(marks, NUMBERS, side="right") - 1]
    return 1.0 - np.exp(-age / scale)


def _strength(planted: dict[str, tuple[int, int]], rng: np.random.Generator) -> np.ndarray:
    weak, strong = (_within(planted, f"glycol_{name}").cumsum() for name in ("weak", "strong"))
    start = rng.normal(0.355, 0.012)
    return np.clip(start - 0.0009 * np.minimum(weak, 200) + 0.0011 * np.minimum(strong, 200), 0.05, 0.58)
