"""How figures of a kind drift, learned from many series of readings: slopes, noise of a reading, and wandering."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import combinations
from statistics import median
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.domain.statistics.drift import Drift
from service.domain.statistics.passage import WIDER, foresight

Numbers = NDArray[np.float64]
Series = tuple[Sequence[float], Sequence[float]]
Residual = tuple[float, float, float, float]

LEAST = 3  # readings of a series from which anything is learned
DEFAULT_SERIES = 6.0  # as many series as the default counts for
ROUNDS = 25
FACTORS = np.geomspace(1 / 16, 16, 25)
SLOPES = 81
LEAST_SPREAD = 0.15
SPREADS = (1.0, 1.7)  # times that of the mean slopes of the series
WIDEST = 1.2
SHARPER = 1.5  # so much is the mean logarithm of several foresights of one reading worth; chosen by simulation
RARER = 0.1  # the logarithm by which each next rate of changes is less likely before any series; chosen by simulation
MOST = 120  # series
CHANGES = (0.02, 0.3, 1.0, 3.0)  # of slope a year
WANDERS = (0.3, 0.6, 1.0)  # times the wandering that the residuals show, in which changes of slope are as well
SHARES = (0.005, 0.02, 0.05, 0.1, 0.15, 0.2)  # of wrong readings
BAD = WIDER**2
HALF_BAD = (BAD + 1.0) / 2.0  # of two readings one is wrong


class Learnable(NamedTuple):
    """What one series says: its slope, the variances of that by noise and wandering of one, and residuals.

    A residual is a reading less the line between two others, with the variance of noise of one and of wandering of
    one a day, so that it depends on neither level nor slope.
    """

    slope: float
    by_noise: float
    by_wander: float
    residuals: tuple[Residual, ...]


def learnable(times: Sequence[float], values: Sequence[float]) -> Learnable | None:
    """What one series says, its readings in order; None where they are too few."""
    if len(times) < LEAST or times[-1] <= times[0]:
        return None
    points = list(zip(times, values, strict=True))
    pairs = ((one, other) for one, other in combinations(points, 2) if other[0] > one[0])
    slopes = [(later - former) / (end - start) for (start, former), (end, later) in pairs]
    length = times[-1] - times[0]
    centre = sum(times) / len(times)
    scatter = sum((at - centre) ** 2 for at in times)
    return Learnable(median(slopes), 1.0 / scatter, 1.2 / length, tuple(_residuals(points)))


def _residuals(points: Sequence[tuple[float, float]]) -> Iterable[Residual]:
    """Each reading against the line through those one, two and three places before and after it."""
    for step in (1, 2, 3):
        for (t0, y0), (t1, y1), (t2, y2) in zip(points, points[step:], points[2 * step :], strict=False):
            if t0 < t1 < t2:
                share = (t1 - t0) / (t2 - t0)
                ends = share**2 + (1.0 - share) ** 2
                yield y1 - (1.0 - share) * y0 - share * y2, 1.0, ends, (t1 - t0) * (t2 - t1) / (t2 - t0)


def learned(series: Sequence[Series], default: Drift) -> Drift:
    """The drift of a kind by its series, of the latest `MOST`; the default counts as several series."""
    found = [(each, what) for each in series[-MOST:] if (what := learnable(*each)) is not None]
    residuals = [residual for _, what in found for residual in what.residuals]
    if not residuals:
        return default
    known, rounding = _errors(residuals, default)
    slopes = np.array([what.slope for _, what in found])
    errors = np.array([what.by_noise * known.noise**2 + what.by_wander * known.wander**2 for _, what in found])
    drift = _slopes(slopes, errors, known)
    return _changes([each for each, _ in found], replace(drift, wander=drift.wander * rounding))


def _changes(series: Sequence[Series], drift: Drift) -> Drift:
    """How often slopes change and how far figures wander, by what foresees the last readings best."""
    tried = [
        replace(drift, changes=changes, wander=drift.wander * factor, spread=min(drift.spread * wider, WIDEST))
        for changes in CHANGES
        for factor in WANDERS
        for wider in SPREADS
    ]
    found = np.array([sum(foresight(*each, one) for each in series) for one in tried])
    found -= np.array([RARER * CHANGES.index(one.changes) for one in tried])
    weights = np.exp(SHARPER * (found - np.max(found)))
    weights /= weights.sum()
    columns = np.array([(one.changes, one.wander, one.spread) for one in tried])
    changes, wander, spread = (float(each) for each in (weights[:, None] * columns).sum(axis=0))
    return replace(drift, changes=changes, wander=wander, spread=spread)


def _errors(residuals: Sequence[Residual], default: Drift) -> tuple[Drift, float]:
    """The noise, the wandering and the share of wrong readings that the residuals show.

    Beside them by what factor the wandering is rounded up, by one standard deviation: one too small costs coverage, one
    too large only width. The spread of the slopes is found without that, as it would be too small.
    """
    weights = np.exp((surface := _surface(residuals, default)) - np.max(surface))
    weights /= weights.sum()
    logs = np.log(FACTORS)
    noise = float((weights.sum(axis=(0, 2)) * logs).sum())
    by_wander = weights.sum(axis=(0, 1))
    wander = float((by_wander * logs).sum())
    spread = float(np.sqrt((by_wander * (logs - wander) ** 2).sum()))
    wrong = float((weights.sum(axis=(1, 2)) * np.array(SHARES)).sum())
    found = replace(
        default, noise=default.noise * float(np.exp(noise)), wander=default.wander * float(np.exp(wander)), wrong=wrong
    )
    return found, float(np.exp(spread))


def _surface(residuals: Sequence[Residual], default: Drift) -> Numbers:
    """The logarithm of the likelihood by share of wrong readings, noise and wandering."""
    off, middle, ends, wanders = (np.array(column)[None, :] for column in zip(*residuals, strict=True))
    prior = -0.5 * (np.log(FACTORS) / 1.5) ** 2
    surface = np.empty((len(SHARES), FACTORS.size, FACTORS.size))
    for index, factor in enumerate(FACTORS):
        noise, wander = (default.noise * factor) ** 2, (default.wander * FACTORS[:, None]) ** 2 * wanders
        spreads = [noise * (one * middle + other * ends) + wander for one, other in ((1, 1), (BAD, 1), (1, HALF_BAD))]
        good, one, other = (np.exp(-0.5 * off**2 / spread) / np.sqrt(spread) for spread in spreads)
        for at, share in enumerate(SHARES):
            density = (1.0 - 3.0 * share) * good + share * one + 2.0 * share * other
            surface[at, index] = np.log(np.maximum(density, 1e-300)).sum(axis=1) + prior[index] + prior
    return surface


def _slopes(slopes: Numbers, errors: Numbers, drift: Drift) -> Drift:
    """The log-normal slopes and the share without drift, by expectation maximisation with the default as series."""
    centre, spread, steady = np.log(drift.slope), drift.spread, drift.steady
    weight = DEFAULT_SERIES
    for _ in range(ROUNDS):
        logs = centre + spread * np.linspace(-4.0, 4.0, SLOPES)
        prior = np.exp(-0.5 * ((logs - centre) / spread) ** 2)
        prior *= (1.0 - steady) / prior.sum()
        moving = prior * _density(slopes[:, None] - np.exp(logs), errors[:, None], drift.wrong)
        still = steady * _density(slopes, errors, drift.wrong)
        total = np.maximum(moving.sum(axis=1) + still, 1e-300)
        share = moving / total[:, None]
        count = share.sum() + weight * (1.0 - drift.steady)
        own = weight * (1.0 - drift.steady)
        middle = float(((share * logs).sum() + own * np.log(drift.slope)) / count)
        apart = (share * (logs - middle) ** 2).sum() + own * (drift.spread**2 + (np.log(drift.slope) - middle) ** 2)
        spread = max(float(np.sqrt(apart / count)), LEAST_SPREAD)
        centre = middle
        if drift.steady > 0.0:
            steady = float(((still / total).sum() + weight * drift.steady) / (slopes.size + weight))
    return replace(drift, slope=float(np.exp(centre)), spread=spread, steady=steady)


def _density(off: Numbers, errors: Numbers, wrong: float) -> Numbers:
    """The likelihood of a median slope, but for a constant; it may rest on three readings of which one is wrong."""
    carried = min(3.0 * wrong, 0.5)
    good = np.exp(-0.5 * off**2 / errors)
    found: Numbers = (1.0 - carried) * good + carried * np.exp(-0.5 * off**2 / (HALF_BAD * errors)) / HALF_BAD**0.5
    return found
