"""What the compressor does while each group of readings is taken.

A unit that holds its bath runs and rests in turn, and the readings of a visit are minutes apart: the gauges may see it
run and the clamp meter see it stand. After each start the circuit takes minutes to settle, after each stop to equalise:
both sides through a capillary within 7 to 10 minutes (a maker's manual); a valve closes, and its high side follows as
the condenser cools. A compressor whose condenser is far too hot stops by its overload and starts again. Each hypothesis
is so spread over variants: how far low and high side are on their way from rest to steady running, and whether the
motors run. Weights: common practice, no source.
"""

from collections.abc import Sequence
from dataclasses import astuple, dataclass, fields
from functools import lru_cache

import numpy as np

from service.domain.triage.channels import INDEX, MOVES, MOVING
from service.domain.triage.explanation import REGIMES, RESTING, RUNNING, STOPPED
from service.domain.triage.fluid import Array, Indices
from service.domain.triage.forward import Expected
from service.domain.triage.hypotheses import Hypotheses
from service.domain.triage.mixture import Mixture, over_draws

NEAR = 2.0  # [K] over or under the set point: the unit cycles
TRIPS, ABOUT = 334.0, 2.5  # [K] condensing at which an overload or a pressure switch opens, and its spread
LEAST = 0.08  # share of tripping that is followed up
COLD_AIR = 287.0  # [K] 57 °F: colder, a control of the head slows or stops the fan; common practice, no source
PAUSED = 0.1  # of the time in such air: one unit in three cycles its fan, which stands a third of it; common practice
LEAST_PAUSED = 0.02
APART = 0.12  # of what is looked at: the compressor had started or stopped between it and the readings


@dataclass(frozen=True, slots=True)
class Variant:
    """Weight, how far low and high side are on their way from rest to steady running, whether the motors run."""

    weight: float
    low: float
    high: float
    compressor: bool
    fan: bool


def _settled(weight: float, share: float, motors: bool) -> Variant:
    return Variant(weight, share, share, motors, motors)


CYCLING = (
    _settled(0.62, 1.0, True),
    _settled(0.09, 0.75, True),
    _settled(0.05, 0.4, True),
    _settled(0.09, 1.0, False),
    _settled(0.09, 0.0, True),
    _settled(0.06, 0.3, False),
)
CYCLING_ON_A_VALVE = (
    _settled(0.60, 1.0, True),
    _settled(0.09, 0.75, True),
    _settled(0.04, 0.4, True),
    _settled(0.08, 1.0, False),
    _settled(0.04, 0.0, True),
    Variant(0.06, 0.1, 0.6, True, True),
    Variant(0.09, 0.1, 0.6, False, False),
)
MOSTLY_RESTING = (
    _settled(0.72, 0.0, False),
    _settled(0.12, 0.3, False),
    _settled(0.06, 0.0, True),
    _settled(0.06, 1.0, False),
    _settled(0.04, 1.0, True),
)
RESTING_ON_A_VALVE = (
    _settled(0.40, 0.0, False),
    Variant(0.22, 0.0, 0.3, False, False),
    Variant(0.22, 0.15, 0.7, False, False),
    _settled(0.06, 0.0, True),
    _settled(0.06, 1.0, False),
    _settled(0.04, 1.0, True),
)
ALWAYS = (_settled(0.93, 1.0, True), _settled(0.07, 0.75, True))
TRIPPING = (
    _settled(0.14, 1.0, False),
    Variant(0.15, 0.3, 0.6, False, False),
    Variant(0.10, 0.3, 0.6, False, True),
    _settled(0.14, 0.1, False),
    _settled(0.12, 0.4, True),
    Variant(0.06, 0.05, 0.3, True, True),
)  # the rest of the time it runs as one that does not trip
NEVER = (_settled(1.0, 0.0, False),)


@dataclass(frozen=True)
class Spread:
    """Hypotheses by variant: their expected values, how far each side is, which cycle, and from which row.

    `other` is the regime in which signs may have been seen instead, with probability `apart`.
    """

    rows: Hypotheses
    values: Mixture
    low: Array
    high: Array
    cycling: Array
    trips: Array  # probability that an overload stops the compressor again and again
    swing: Array  # [K] of the air behind the condenser between running and rest, where the compressor comes and goes
    source: Indices
    other: Indices
    apart: Array


def variants(rows: Hypotheses, found: Expected, capillary: bool) -> Spread:
    """Every hypothesis in each of its variants."""
    trips = _trips(rows, found)
    at, (share, low, high, on, fan) = _paused(_listed(rows, trips, capillary), _pauses(rows, found))
    cycling = _cycling(rows).astype(float)[at]
    parts = np.zeros((len(INDEX), at.size))
    bath = 1.0 - 0.5 * np.maximum(cycling, trips[at])
    for names, part in zip(MOVING.values(), (low, high, on, fan, bath), strict=True):
        for name in names:
            parts[INDEX[name]] = part
    called = np.where(cycling > 0.0, REGIMES.index(RESTING), REGIMES.index(STOPPED))  # while the compressor stands
    running = REGIMES.index(RUNNING)
    moves = rows.can_run[at]
    regimes = np.where(moves, np.where(on > 0.0, running, called), rows.regime[at])
    other = np.where(moves, np.where(on > 0.0, called, running), rows.regime[at])
    apart = np.where((low >= 0.5) != (on > 0.0), 0.5, APART) * moves
    apart[(cycling == 0.0) & (trips[at] < LEAST)] = 0.0
    taken = rows.take(at, rows.log_prior[at] + np.log(share), regimes)
    swing = over_draws(np.abs(found.moved[MOVES[INDEX["air_out"]]]))[at] * (low < 1.0)
    values = Mixture(found.resting, MOVES, found.moved, at, parts)
    return Spread(taken, values, low, high, cycling, trips[at], swing, at, other, apart)


def _trips(rows: Hypotheses, found: Expected) -> Array:
    """The probability that a compressor that should run all the time is stopped by its overload again and again."""
    hot = over_draws(found.running("bend"))
    always = (rows.regime == REGIMES.index(RUNNING)) & np.logical_not(_cycling(rows))
    return np.asarray(always / (1.0 + np.exp(-np.clip((hot - TRIPS) / ABOUT, -30.0, 30.0))))


def _pauses(rows: Hypotheses, found: Expected) -> Array:
    """The probability that a control of the head lets a sound fan stand while the compressor runs: in cold air."""
    air = over_draws(found.resting[INDEX["air_out"]])
    cold = 1.0 / (1.0 + np.exp(np.clip((air - COLD_AIR) / ABOUT, -30.0, 30.0)))
    share = PAUSED * cold * (rows.effects["fan"] > 0.0) * rows.can_run
    return np.asarray(np.where(share > LEAST_PAUSED, share, 0.0))


TRIPPING_TOO = 4  # the last kind of `_table`
Listed = tuple[Indices, Array]
"""Of variants: the hypothesis; share, low, high, compressor and fan (field, variant)."""


def _paused(listed: Listed, pauses: Array) -> Listed:
    """These variants, those that run also with a fan that stands for a share of the time."""
    at, (share, _, _, on, fan) = listed
    twice = (pauses[at] > 0.0) & (on > 0.0) & (fan > 0.0) & (share > LEAST_PAUSED)
    every = np.repeat(np.arange(at.size), 1 + twice)
    stands = np.append(False, every[1:] == every[:-1])
    at, values = at[every], listed[1][:, every]
    values[0] *= np.where(stands, pauses[at], np.where(twice[every], 1.0 - pauses[at], 1.0))
    values[-1, stands] = 0.0
    return at, values


def _cycling(rows: Hypotheses) -> Array:
    """In which hypotheses the compressor comes and goes."""
    near = (rows.regime == REGIMES.index(RUNNING)) & (np.abs(rows.bath) < NEAR)
    return np.asarray((rows.regime == REGIMES.index(RESTING)) | near)


def _listed(rows: Hypotheses, trips: Array, capillary: bool) -> Listed:
    """The variants of the hypotheses."""
    running, resting = (np.asarray(rows.regime == REGIMES.index(name)) for name in (RUNNING, RESTING))
    kind: Indices = np.where(trips > LEAST, TRIPPING_TOO, 3)
    for n, which in ((2, _cycling(rows)), (1, ~running), (0, resting)):
        kind[which] = n
    table, counts = _table(capillary)
    at = np.repeat(np.arange(len(rows)), counts[kind])
    place = np.arange(at.size) - np.repeat(np.cumsum(counts[kind]) - counts[kind], counts[kind])
    values = table[kind[at], place].T
    tripping = kind[at] == TRIPPING_TOO
    often = np.where(place < len(ALWAYS), 1.0 - sum(each.weight for each in TRIPPING) * trips[at], trips[at])
    values[0] *= np.where(tripping, often, 1.0)
    return at, values


@lru_cache
def _table(capillary: bool) -> tuple[Array, Indices]:
    """The variants of each kind of hypothesis (kind, variant, field), and how many there are."""
    kinds: Sequence[Sequence[Variant]] = (
        MOSTLY_RESTING if capillary else RESTING_ON_A_VALVE,
        NEVER,
        CYCLING if capillary else CYCLING_ON_A_VALVE,
        ALWAYS,
        (*ALWAYS, *TRIPPING),
    )
    counts = np.array([len(each) for each in kinds])
    table = np.zeros((len(kinds), counts.max(), len(fields(Variant))))
    for n, each in enumerate(kinds):
        table[n, : len(each)] = [astuple(variant) for variant in each]
    return table, counts
