"""One life after another at every position of a unit: what failed when, why, and who put in what instead."""

import math
from dataclasses import dataclass, field

import numpy as np

from tests.simulation.stress.places import DAYS, YEAR, Conditions
from tests.simulation.stress.wear import LIVES, POSITIONS, climate, excess
from tests.simulation.truth import ORDINARY, Plan

DEFECTIVE = 0.06  # share of new parts that everybody gets now and then and that last months; judged
BAD_HANDS, BAD_ITEMS = 0.3, 0.6  # share of such parts that die early; judged


@dataclass(frozen=True, slots=True)
class People:
    """The technician whose parts die early from a day on, and the batch: kind, model and the days it was sold."""

    careless: str = ""
    careless_from: int = DAYS
    batch_kind: str = ""
    batch: tuple[int, int] = (DAYS, DAYS)


@dataclass(slots=True)
class Position:
    """A position with the life that is running: since when, when it ends and why."""

    code: str
    wear: np.ndarray
    shares: dict[str, np.ndarray]
    since: int = 0
    ends: int = DAYS
    cause: str = ORDINARY


@dataclass(frozen=True, slots=True)
class Death:
    """A part that failed and what was put in."""

    day: int
    position: str
    cause: str
    technician: str
    model: str
    precautions: tuple[str, ...] = field(default=())


def deaths(
    unit: Conditions, start: int, technicians: tuple[str, ...], people: People, plan: Plan, rng: np.random.Generator
) -> list[Death]:
    """All failures of a unit from a day on, in the order of time; what was in it then was not new."""
    frailty = rng.gamma(4.0, 0.25)
    places = [_position(unit, code, frailty * plan.rate) for code in POSITIONS]
    for place in places:
        _begin(place, start, rng, used=True)
    made = []
    careful = 0.5 if unit.habit == "swapper" else 0.0
    while (place := min(places, key=lambda each: each.ends)).ends < DAYS:
        day, cause = place.ends, place.cause
        technician = str(rng.choice(technicians))
        sisters = [each for each in places if each is not place and rng.random() < (plan.precautions + careful) / 6]
        made.append(
            Death(day, place.code, cause, technician, _model(place, day, people), tuple(each.code for each in sisters))
        )
        for each in (place, *sisters):
            _begin(each, day + 1, rng)
            _spoilt(each, day, technician, people, rng)
    return made


def _position(unit: Conditions, code: str, rate: float) -> Position:
    kind = POSITIONS[code]
    shares = {cause: np.log(factor) for cause, factor in excess(unit, code).items() if factor.max() > 1}
    factor = np.exp(sum(shares.values(), np.zeros(DAYS)))
    factor = np.minimum(factor, 16.0)
    mean, _ = LIVES[kind]
    wear = rate * climate(unit, kind) * factor / (mean * YEAR)
    total = sum(shares.values(), np.zeros(DAYS))
    over = np.where(total > 0, (wear - wear / factor) / np.maximum(total, 1e-9), 0.0)
    return Position(code, wear, {cause: share * over for cause, share in shares.items()})


def _begin(place: Position, day: int, rng: np.random.Generator, *, used: bool = False) -> None:
    """A life begins; one that was running before has a part of it left."""
    shape = LIVES[POSITIONS[place.code]][1]
    stores = rng.weibull(shape, 8) / math.gamma(1 + 1 / shape)
    store = stores[0] * (rng.random() * 0.06 if rng.random() < DEFECTIVE else 1.0)
    if used:  # a long life is found under way more often than a short one
        store = rng.choice(stores, p=stores / stores.sum()) * rng.random()
    place.since, place.cause = day, ORDINARY
    place.ends = day + int(np.searchsorted(np.cumsum(place.wear[day:]), store)) if day < DAYS else DAYS
    if place.ends >= DAYS:
        return
    spent = {cause: float(share[day : place.ends + 1].sum()) for cause, share in place.shares.items()}
    drawn = rng.random() * float(place.wear[day : place.ends + 1].sum())
    for cause, amount in spent.items():
        drawn -= amount
        if drawn < 0:
            place.cause = cause
            return


def _model(place: Position, day: int, people: People) -> str:
    sold = POSITIONS[place.code] == people.batch_kind and people.batch[0] <= day < people.batch[1]
    return "B" if sold else "A"


def _spoilt(place: Position, day: int, technician: str, people: People, rng: np.random.Generator) -> None:
    """A part of a bad batch or put in badly ends before its time."""
    early = None
    if _model(place, day, people) == "B" and rng.random() < BAD_ITEMS:
        early = ("bad_parts", day + int(rng.integers(20, 150)))
    if technician == people.careless and day >= people.careless_from and rng.random() < BAD_HANDS:
        early = ("after_repair", day + int(rng.integers(4, 55)))
    if early and early[1] < place.ends:
        place.cause, place.ends = early
