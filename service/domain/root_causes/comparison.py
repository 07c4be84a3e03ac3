"""Luck against each cause against an unexplained excess, in closed form: gamma-Poisson with the frailty integrated out.

Intensity base x frailty x [1 + (strength - 1) x score]; frailty gamma of mean 1. After Greenwood and Yule 1920.
Many pairs of unit and component kind are weighed at once: arrays hold a row a pair, a column a view of a cause.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln  # type: ignore[import-untyped]

from service.domain.root_causes.causes import causes_of
from service.domain.root_causes.statistics import STRENGTHS, PairStatistics

Numbers = NDArray[np.float64]
ODD_SHAPE, ODD_MEAN = 2.0, 5.0
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
class Pairs:
    """Pairs of one kind: failures (n,), years (n,), exposed years (n, views), gains (n, views, strengths).

    `made` (n, views, strengths): the chance that a cause, if at work, made enough of the failures to be told: one where
    it is always there, two where it seldom is, and between by the share of the time.
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
    """Probabilities of luck (n,), of each listed cause (n, causes), of an unexplained excess (n,); rows add up to 1."""

    luck: Numbers
    causes: Numbers
    unexplained: Numbers


@dataclass(frozen=True, slots=True)
class Weights:
    """Prior times likelihood against luck's: of luck (n,), views by strength (n, views, strengths), the excess (n,)."""

    luck: Numbers
    views: Numbers
    unexplained: Numbers


@lru_cache(maxsize=64)
def starts_of(kind: str) -> tuple[int, ...]:
    """Where each cause's views begin among all views of a kind."""
    counts = [len(cause.scores) for cause in causes_of(kind)]
    return tuple(sum(counts[:index]) for index in range(len(counts)))


@lru_cache(maxsize=64)
def cause_of_view(kind: str) -> tuple[int, ...]:
    """The cause to which each view of a kind belongs, by its place in `causes_of`."""
    return tuple(index for index, cause in enumerate(causes_of(kind)) for _ in cause.scores)


def pairs_of(kind: str, told: Sequence[PairStatistics]) -> Pairs:
    """Statistics of one kind as arrays."""
    views = len(cause_of_view(kind))
    years = np.array([each.years for each in told])
    exposed = np.array([each.exposed for each in told]).reshape(-1, views)
    gains = np.array([each.gains for each in told]).reshape(-1, views, len(STRENGTHS), 3)
    return Pairs(
        kind,
        np.array([each.count for each in told]),
        years,
        exposed,
        gains[..., 0],
        made(gains, exposed, years),
        np.array([each.excess_gain for each in told]),
    )


def made(gains: Numbers, exposed: Numbers, years: Numbers) -> Numbers:
    """The field of that name of `Pairs`, from gains (n, views, strengths, 3)."""
    often = np.minimum(1.0, exposed / years[:, None])[:, :, None]
    return np.clip(1.0 - np.exp(gains[..., 1]) * (1.0 + (1.0 - often) * gains[..., 2]), 0.0, 1.0)


def log_factors(pairs: Pairs, setting: Setting) -> Numbers:
    """ln of the Bayes factors of the views against luck, by strength."""
    a, luck = setting.shape, setting.shape + setting.rate * pairs.years[:, None, None]
    with_cause = luck + setting.rate * pairs.exposed[:, :, None] * EXTRA
    return pairs.gains + (a + pairs.count[:, None, None]) * np.log(luck / with_cause)


def weighed(pairs: Pairs, setting: Setting) -> Weights:
    """What each explanation weighs for each pair."""
    prior = np.array(setting.priors)[list(cause_of_view(pairs.kind))]
    views = np.exp(np.minimum(log_factors(pairs, setting), TOP)) * (prior[:, None] * np.array(setting.strengths))
    luck = np.full(len(pairs.count), 1.0 - setting.unexplained - sum(setting.priors))
    odd = odd_factor(pairs.count, setting.rate * pairs.years, setting.shape)
    odd = setting.unexplained * np.exp(np.minimum(pairs.excess_gain, TOP)) * odd
    return Weights(luck, views, odd)


def compare(pairs: Pairs, setting: Setting) -> Comparison:
    """The probabilities of all explanations of each pair's failures; what a cause did not make twice is luck."""
    told = weighed(pairs, setting)
    total = told.luck + told.views.sum(axis=(1, 2)) + told.unexplained
    made = (told.views * pairs.made).sum(axis=2)
    causes = np.add.reduceat(made, starts_of(pairs.kind), axis=1) / total[:, None]
    luck = told.luck + (told.views * (1.0 - pairs.made)).sum(axis=(1, 2))
    return Comparison(luck / total, causes, told.unexplained / total)


def odd_factor(count: Numbers, expected: Numbers, shape: float) -> Numbers:
    """The Bayes factor of an excess of fivefold mean against luck: two negative binomials."""
    gap = log_nb(count, shape=ODD_SHAPE, mean=ODD_MEAN * expected) - log_nb(count, shape=shape, mean=expected)
    return np.exp(np.minimum(TOP, gap))


def log_nb(count: Numbers, *, shape: float, mean: Numbers) -> Numbers:
    """ln of the negative binomial's probability, less the count's own factorial."""
    ways: Numbers = gammaln(shape + count) - gammaln(shape)
    return ways + shape * np.log(shape / (shape + mean)) + count * np.log(mean / (shape + mean))
