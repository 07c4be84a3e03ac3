"""When a drifting figure will reach its limit: a Wiener process with drift, seen through readings that can be wrong."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from service.domain.statistics.drift import Drift

Numbers = NDArray[np.float64]
Series = tuple[Sequence[float], Sequence[float]]

SLOPES = 61  # over four standard deviations of the logarithm on either side
WIDER = 5.0  # times is the spread of a reading that is wrong
NODES, NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(7)
QUANTILES = (0.1, 0.5, 0.9)
LEAST_WEIGHT = 1e-6
TIMES = 33
REFINED = 3
INNER = 6
SQRT_2 = float(np.sqrt(2.0))
FORGOTTEN = 0.2  # the probability that a correction changes the slope as well; judged
TURN = 0.5  # standard deviation of the logarithm of what a change multiplies the slope by; judged
FRESH = 0.1  # the probability that a change has nothing to do with the slope before; judged
FURTHER = 2.5  # times as wide is what such a slope changes to as what it begins with


@dataclass(frozen=True, slots=True)
class Passage:
    """When the limit is reached, in days after the last reading; None beyond the horizon. `within`: its probability.

    `crossed` is the probability that it has been, `slope` the median of the slope by what was read.
    """

    low: float | None
    likely: float | None
    high: float | None
    within: float
    crossed: float
    slope: float


@dataclass(frozen=True, slots=True)
class _State:
    """For each slope its probability, and the mean and variance of the figure now."""

    weights: Numbers
    mean: Numbers
    variance: Numbers


def passage(
    times: Sequence[float],
    values: Sequence[float],
    limit: float,
    drift: Drift,
    horizon: float,
    former: Sequence[Series] = (),
) -> Passage:
    """
    Return when a figure that rises reaches its limit.

        dx = b dt + w dB,  y_i = x(t_i) + e_i

    Parameters
    ----------
    times : sequence of float
        Times of the readings since the last correction, in order, [day]
    values : sequence of float
        The readings, at least one, [any unit]
    limit : float
        The value that is to be reached from below, [same unit]
    drift : Drift
        What is known of such figures before the readings
    horizon : float
        How far ahead to look, [day]
    former : sequence of (times, values)
        Readings between earlier corrections, oldest first: they say how fast it drifts, not where it is

    Returns
    -------
    Passage
        The 10, 50 and 90 % points of the time to the limit, after the last reading, [day]

    Notes
    -----
    A filter over a grid of slopes. A reading is good, or wrong with a spread five times as wide; between two readings
    the slope may change, mostly to one near it.

    References
    ----------
    .. [1] J. L. Folks and R. S. Chhikara, The inverse Gaussian distribution and its statistical application: a review,
       J. Royal Statistical Society B 40 (1978) 263-289 (from memory).
    .. [2] W. Q. Meeker and L. A. Escobar, Statistical Methods for Reliability Data, 1998, chapter 13.

    Examples
    --------
    One exact reading, 4 below the limit, drift .02 a day: mean 200 days.

    >>> round(passage([0], [6], 10, Drift(.02, .01, .001, .03), 1000).likely)
    199
    """
    slopes, _, other = _grid(drift)
    *_, state = _filtered(times, values, drift, _remembered(former, drift))
    state = _ahead_changed(state, other, slopes, limit, drift)
    kept = state.weights > LEAST_WEIGHT
    left = limit - (state.mean[kept, None] + np.sqrt(state.variance[kept, None]) * NODES)
    chances = (state.weights[kept, None] * (NODE_WEIGHTS / NODE_WEIGHTS.sum())).ravel()
    chances /= chances.sum()
    rates = np.repeat(slopes[kept], NODES.size)
    ahead = _Ahead(left.ravel(), rates, drift.wander**2, chances)
    within = float(ahead.at(np.array([horizon]))[0])
    points = ahead.quantiles(horizon, within)
    order = np.cumsum(state.weights)
    middle = float(slopes[int(np.searchsorted(order, 0.5 * order[-1]))])
    return Passage(*points, within, float(chances[left.ravel() <= 0.0].sum()), middle)


@lru_cache(maxsize=256)
def _grid(drift: Drift) -> tuple[Numbers, Numbers, Numbers]:
    """Slopes, the first zero, the probability of each before any reading, and after a change, a row for each before it.

    A change multiplies a slope: what makes a unit drift faster or slower than others stays with it.
    """
    steps = np.linspace(-4.0, 4.0, SLOPES)
    slopes = np.concatenate(([0.0], drift.slope * np.exp(drift.spread * steps)))
    first = _chances(np.exp(-0.5 * steps**2), drift.steady)
    fresh = _chances(np.exp(-0.5 * (steps / FURTHER) ** 2), drift.steady)
    turned = np.exp(-0.5 * (drift.spread * (steps - steps[:, None]) / TURN) ** 2)
    turned /= turned.sum(axis=1, keepdims=True)
    near = np.zeros((SLOPES + 1, SLOPES + 1))
    near[0] = fresh
    near[1:, 1:] = turned
    return slopes, first, FRESH * fresh + (1.0 - FRESH) * near


def _chances(weights: Numbers, steady: float) -> Numbers:
    return np.concatenate(([steady], (1.0 - steady) * weights / weights.sum()))


def foresight(times: Sequence[float], values: Sequence[float], drift: Drift) -> float:
    """How well the readings before it foresee the last one: the mean logarithm of its probability density.

    It is foreseen from every reading before it but the first, as a passage is: the slope may change on the way.
    """
    slopes, _, other = _grid(drift)
    states = list(_filtered(times, values, drift))[1:-1]
    found = 0.0
    for at, then in zip(times[1:], states, strict=False):
        gap = times[-1] - at
        state = _changed(then, other, _chance(0.5 * gap, drift))
        spread = state.variance + drift.wander**2 * gap
        off = values[-1] - state.mean - slopes * gap
        density = 0.0
        for share, noise in ((1.0 - drift.wrong, 1.0), (drift.wrong, WIDER**2)):
            total = spread + noise * drift.noise**2
            density += share * float((state.weights * np.exp(-0.5 * off**2 / total) / np.sqrt(total)).sum())
        found += np.log(max(density, 1e-300))
    return found / max(len(states), 1)


def _chance(days: float, drift: Drift) -> float:
    """The probability that the slope changes in so many days."""
    return float(1.0 - np.exp(-days * drift.changes / 365.25))


def _remembered(former: Sequence[Series], drift: Drift) -> Numbers:
    """The probability of each slope by the readings between earlier corrections; some of it is forgotten at each."""
    _, weights, other = _grid(drift)
    for times, values in former:
        *_, state = _filtered(times, values, drift, weights)
        weights = (1.0 - FORGOTTEN) * state.weights + FORGOTTEN * _moved(state.weights, other)
    return weights


def _filtered(
    times: Sequence[float], values: Sequence[float], drift: Drift, weights: Numbers | None = None
) -> Iterator[_State]:
    """The state after each reading; `weights` are the probabilities of the slopes before them."""
    slopes, prior, other = _grid(drift)
    prior = prior if weights is None else weights
    good = drift.noise**2
    start = good * (1.0 + drift.wrong * (WIDER**2 - 1.0))
    state = _State(prior, np.full(slopes.size, float(values[0])), np.full(slopes.size, start))
    yield state
    for before, now, value in zip(times, times[1:], values[1:], strict=False):
        gap = now - before
        state = _changed(state, other, _chance(gap, drift))
        mean, variance = state.mean + slopes * gap, state.variance + drift.wander**2 * gap
        state = _read(_State(state.weights, mean, variance), value, good, drift.wrong)
        yield state


def _changed(state: _State, other: Numbers, chance: float) -> _State:
    """The slope may have changed, the figure being where it is."""
    if chance <= 0.0:
        return state
    middle = (state.weights * state.mean).sum()
    off = state.mean - middle
    moved = _moved(state.weights, other)
    least = np.maximum(moved, 1e-300)
    mean = _moved(state.weights * off, other) / least
    variance = _moved(state.weights * (state.variance + off**2), other) / least - mean**2
    weights = (1.0 - chance) * state.weights + chance * moved
    share = chance * moved / np.maximum(weights, 1e-300)
    mixed = _mixed(1.0 - share, (state.mean, state.variance), share, (middle + mean, np.maximum(variance, 0.0)))
    return _State(weights, *mixed)


def _moved(of: Numbers, other: Numbers) -> Numbers:
    """What stood at each slope, at those to which it changes; summed row by row, so the same on every processor."""
    found: Numbers = (of[:, None] * other).sum(axis=0)
    return found


def _ahead_changed(state: _State, prior: Numbers, slopes: Numbers, limit: float, drift: Drift) -> _State:
    """The slope may change on the way to the limit; at the middle of the way on average."""
    rate, mean = float((state.weights * slopes).sum()), float((state.weights * state.mean).sum())
    if limit <= mean or rate <= 0.0:
        return state
    ahead = (limit - mean) / rate
    return _changed(state, prior, _chance(0.5 * ahead, drift))


def _read(state: _State, value: float, good: float, wrong: float) -> _State:
    """After a reading, that may be wrong."""
    parts = []
    for chance, noise in ((1.0 - wrong, good), (wrong, WIDER**2 * good)):
        spread = state.variance + noise
        off = value - state.mean
        likelihood = chance * np.exp(-0.5 * off**2 / spread) / np.sqrt(spread)
        gain = state.variance / spread
        parts.append((likelihood, (state.mean + gain * off, state.variance * (1.0 - gain))))
    both = parts[0][0] + parts[1][0]
    weights = state.weights * both
    total = float(weights.sum())
    if not total > 0.0:  # too far from all that is known: a wrong reading
        return state
    share = parts[0][0] / np.maximum(both, 1e-300)
    mixed = _mixed(share, parts[0][1], 1.0 - share, parts[1][1])
    return _State(weights / total, *mixed)


def _mixed(
    one: Numbers, first: tuple[Numbers, Numbers], other: Numbers, second: tuple[Numbers, Numbers]
) -> tuple[Numbers, Numbers]:
    """Mean and variance of a mixture of two."""
    mean = one * first[0] + other * second[0]
    variance = one * (first[1] + (first[0] - mean) ** 2) + other * (second[1] + (second[0] - mean) ** 2)
    return mean, variance


@dataclass(frozen=True, slots=True)
class _Ahead:
    """A mixture of times to the limit: distance left, slope and probability of each."""

    left: Numbers
    slopes: Numbers
    wander: float
    chances: Numbers

    def at(self, times: Numbers) -> Numbers:
        """The probability that the limit is reached by each time."""
        from scipy.special import erfcx, ndtr  # type: ignore[import-untyped]  # scipy ships no types

        left, spread = np.maximum(self.left, 0.0), self.wander * times[:, None]
        way = self.slopes * times[:, None]
        short, width = left - way, np.sqrt(spread)
        # exp(2 b d / w^2) times the normal tail beyond (b t + d) / (w t^.5), which alone would overflow
        again = 0.5 * np.exp(-0.5 * short**2 / spread) * erfcx((left + way) / (SQRT_2 * width))
        found: Numbers = (np.minimum(ndtr(-short / width) + again, 1.0) * self.chances).sum(axis=1)
        return found

    def quantiles(self, horizon: float, within: float) -> tuple[float | None, float | None, float | None]:
        """The times of the quantiles, None beyond the horizon."""
        times = horizon * np.geomspace(1e-4, 1.0, TIMES)
        reached = np.maximum.accumulate(self.at(times))
        places = np.searchsorted(reached, QUANTILES)
        inside = np.clip(places, 1, TIMES - 1)
        found = np.where(places > 0, self._narrowed(times[inside - 1], times[inside]), 0.0)
        low, likely, high = (
            None if within < wanted else float(at) for wanted, at in zip(QUANTILES, found, strict=True)
        )
        return low, likely, high

    def _narrowed(self, low: Numbers, high: Numbers) -> Numbers:
        """The time of each quantile between two others, which close in on it to a seventh at each round."""
        wanted = np.array(QUANTILES)
        for _ in range(REFINED):
            step = (high - low) / (INNER + 1)
            inner = low + step * np.arange(1, INNER + 1)[:, None]
            before = (self.at(inner.ravel()).reshape(inner.shape) < wanted).sum(axis=0)
            low, high = low + before * step, low + (before + 1) * step
        found: Numbers = 0.5 * (low + high)
        return found
