"""Chance, each cause and an unexplained excess compared in closed form: gamma-Poisson, the frailty integrated out.

Intensity base x frailty x [1 + (strength - 1) x score]; frailty gamma of mean 1. After Greenwood and Yule 1920.
Many units are weighed at once, one component kind at a time: arrays hold a row a unit, a column a view of a cause.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln  # type: ignore[import-untyped]

from service.domain.root_causes.causes import causes_of
from service.domain.root_causes.failures import STRENGTHS, KindFailures

Numbers = NDArray[np.float64]
EXCESS_SHAPE, EXCESS_MEAN = 2.0, 5.0
EXTRA = np.array(STRENGTHS) - 1.0
TOP = 300.0  # exp() of more is no longer a number


@dataclass(frozen=True, slots=True)
class Setting:
    """Base rate a year, gamma shape of the units' spread, by view the weights of the strengths, by cause its prior."""

    rate: float
    shape: float
    strengths: tuple[tuple[float, ...], ...]
    priors: tuple[float, ...]
    unexplained: float


@dataclass(frozen=True, slots=True)
class FailureArrays:
    """Failures of one kind, a row a unit: count and years (n,), exposed years (n, views), gains (n, views, strengths).

    `made` (n, views, strengths): the chance that a cause, if at work, made enough of the failures to count: one where
    it is always present, two where it seldom is, and between by the share of the time.
    """

    kind: str
    count: Numbers
    years: Numbers
    exposed: Numbers
    gains: Numbers
    made: Numbers
    excess_gain: Numbers


@dataclass(frozen=True, slots=True)
class Comparison:
    """Probabilities of chance (n,), each listed cause (n, causes), unexplained excess (n,): rows add up to 1."""

    chance: Numbers
    causes: Numbers
    unexplained: Numbers


@dataclass(frozen=True, slots=True)
class Weights:
    """Prior times likelihood over chance's: chance (n,), views by strength (n, views, strengths), the excess (n,)."""

    chance: Numbers
    views: Numbers
    unexplained: Numbers


@lru_cache(maxsize=64)
def starts_of(kind: str) -> tuple[int, ...]:
    """Where each cause's views begin among all views of a kind."""
    counts = [len(cause.views) for cause in causes_of(kind)]
    return tuple(sum(counts[:index]) for index in range(len(counts)))


@lru_cache(maxsize=64)
def cause_of_view(kind: str) -> tuple[int, ...]:
    """The cause to which each view of a kind belongs, by its place in `causes_of`."""
    return tuple(index for index, cause in enumerate(causes_of(kind)) for _ in cause.views)


def arrays_of(kind: str, units: Sequence[KindFailures]) -> FailureArrays:
    """The failures of one kind in several units as arrays."""
    views = len(cause_of_view(kind))
    years = np.array([each.years for each in units])
    exposed = np.array([each.exposed for each in units]).reshape(-1, views)
    gains = np.array([each.gains for each in units]).reshape(-1, views, len(STRENGTHS), 3)
    return FailureArrays(
        kind,
        np.array([each.count for each in units]),
        years,
        exposed,
        gains[..., 0],
        made(gains, exposed, years),
        np.array([each.excess_gain for each in units]),
    )


def made(gains: Numbers, exposed: Numbers, years: Numbers) -> Numbers:
    """The field of that name of `FailureArrays`, from gains (n, views, strengths, 3)."""
    often = np.minimum(1.0, exposed / years[:, None])[:, :, None]
    return np.clip(1.0 - np.exp(gains[..., 1]) * (1.0 + (1.0 - often) * gains[..., 2]), 0.0, 1.0)


def log_factors(arrays: FailureArrays, setting: Setting) -> Numbers:
    """ln of the Bayes factors of the views against chance, by strength."""
    a, chance = setting.shape, setting.shape + setting.rate * arrays.years[:, None, None]
    with_cause = chance + setting.rate * arrays.exposed[:, :, None] * EXTRA
    return arrays.gains + (a + arrays.count[:, None, None]) * np.log(chance / with_cause)


def weighed(arrays: FailureArrays, setting: Setting) -> Weights:
    """What each explanation weighs for each unit."""
    prior = np.array(setting.priors)[list(cause_of_view(arrays.kind))]
    views = np.exp(np.minimum(log_factors(arrays, setting), TOP)) * (prior[:, None] * np.array(setting.strengths))
    chance = np.full(len(arrays.count), 1.0 - setting.unexplained - sum(setting.priors))
    excess = excess_factor(arrays.count, setting.rate * arrays.years, setting.shape)
    excess = setting.unexplained * np.exp(np.minimum(arrays.excess_gain, TOP)) * excess
    return Weights(chance, views, excess)


def compare(arrays: FailureArrays, setting: Setting) -> Comparison:
    """The probabilities of all explanations of each unit's failures; what a cause did not make twice is chance."""
    weights = weighed(arrays, setting)
    total = weights.chance + weights.views.sum(axis=(1, 2)) + weights.unexplained
    made = (weights.views * arrays.made).sum(axis=2)
    causes = np.add.reduceat(made, starts_of(arrays.kind), axis=1) / total[:, None]
    chance = weights.chance + (weights.views * (1.0 - arrays.made)).sum(axis=(1, 2))
    return Comparison(chance / total, causes, weights.unexplained / total)


def excess_factor(count: Numbers, expected: Numbers, shape: float) -> Numbers:
    """The Bayes factor of an excess of fivefold mean against chance: two negative binomials."""
    gap = log_nb(count, shape=EXCESS_SHAPE, mean=EXCESS_MEAN * expected) - log_nb(count, shape=shape, mean=expected)
    return np.exp(np.minimum(TOP, gap))


def log_nb(count: Numbers, *, shape: float, mean: Numbers) -> Numbers:
    """ln of the negative binomial's probability, less the count's own factorial."""
    ways: Numbers = gammaln(shape + count) - gammaln(shape)
    return ways + shape * np.log(shape / (shape + mean)) + count * np.log(mean / (shape + mean))
