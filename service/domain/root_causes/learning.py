"""What the fleet teaches: base rate, spread between units, how common causes are and how strongly they act.

Expectation maximisation of the mixture in `comparison`, with the defaults as a prior worth so many unit-years or pairs.
Dempster, Laird and Rubin 1977.
"""

from dataclasses import dataclass, replace

import numpy as np

from service.domain.root_causes.comparison import (
    EXTRA,
    ODD_MEAN,
    ODD_SHAPE,
    TOP,
    Numbers,
    Pairs,
    Setting,
    Weights,
    cause_of_view,
    log_factors,
    log_nb,
    starts_of,
    weighed,
)

ROUNDS = 8
WORTH_YEARS = 20.0  # the default rate counts as so many unit-years
WORTH_PAIRS = 300.0  # the default prior of an unexplained excess counts as so many pairs
WORTH_EXPOSED = 30.0  # those of causes as so many pairs that were exposed to them
ENOUGH = 0.05  # share of the time from which a pair counts as exposed
SHAPES = np.array([1.2, 1.6, 2.0, 2.5, 3.2, 4.0, 5.0, 6.3, 8.0, 12.0])
USUAL_SHAPE, SHAPE_WIDTH = 4.0, 0.3  # the prior of ln(shape): coefficient of variation 0.5, common practice, no source
MOST = 0.8  # luck is never ruled out beforehand


@dataclass(frozen=True, slots=True)
class _Shares:
    """How each pair's weight is shared: luck (n,), views by strength (n, views, strengths), the excess (n,)."""

    luck: Numbers
    views: Numbers
    odd: Numbers


def learned(pairs: Pairs, default: Setting) -> Setting:
    """The setting that fits the pairs of a fleet, drawn to the default."""
    setting = replace(default, shape=USUAL_SHAPE)
    for _ in range(ROUNDS):
        told = weighed(pairs, setting)
        total = told.luck + told.views.sum(axis=(1, 2)) + told.unexplained
        shares = _Shares(
            told.luck / total,
            told.views / total[:, None, None],
            told.unexplained / total,
        )
        causes, odd = _priors(pairs, shares, default)
        setting = Setting(
            _rate(pairs, shares, setting, default.rate),
            _shape(pairs, shares, setting.rate),
            _strengths(pairs, told, setting, default),
            causes,
            odd,
        )
    return setting


def _rate(pairs: Pairs, shares: _Shares, setting: Setting, default: float) -> float:
    """Failures over years, the years of each explanation counted with what it and the unit's own spread multiply."""
    a, rate, n, years = setting.shape, setting.rate, pairs.count, pairs.years
    with_cause = years[:, None, None] + pairs.exposed[:, :, None] * EXTRA
    plain = shares.luck * years * (a + n) / (a + rate * years)
    caused = shares.views * with_cause * (a + n)[:, None, None] / (a + rate * with_cause)
    excess = shares.odd * years * (ODD_SHAPE + n) / (ODD_SHAPE / ODD_MEAN + rate * years)
    seen = float(plain.sum() + caused.sum() + excess.sum())
    return (float(n.sum()) + default * WORTH_YEARS) / (seen + WORTH_YEARS)


def _shape(pairs: Pairs, shares: _Shares, rate: float) -> float:
    fits = [float((shares.luck * log_nb(pairs.count, shape=a, mean=rate * pairs.years)).sum()) for a in SHAPES]
    prior = -0.5 * (np.log(SHAPES / USUAL_SHAPE) / SHAPE_WIDTH) ** 2
    return float(SHAPES[int(np.argmax(np.array(fits) + prior))])


def _priors(pairs: Pairs, shares: _Shares, default: Setting) -> tuple[tuple[float, ...], float]:
    """How often a cause acts where it is present: pairs that were never exposed to it cannot tell."""
    starts = starts_of(pairs.kind)
    by_cause = np.add.reduceat(shares.views.sum(axis=2), starts, axis=1)
    present = np.maximum.reduceat(pairs.exposed, starts, axis=1) / pairs.years[:, None]
    exposed = np.minimum(1.0, present / ENOUGH)
    worth = WORTH_EXPOSED * np.array(default.priors)
    causes = ((exposed * by_cause).sum(axis=0) + worth) / (exposed.sum(axis=0) + WORTH_EXPOSED)
    odd = (float(shares.odd.sum()) + WORTH_PAIRS * default.unexplained) / (len(pairs.count) + WORTH_PAIRS)
    down = min(1.0, MOST / float(causes.sum() + odd))
    return tuple(float(each) * down for each in causes), odd * down


def _strengths(pairs: Pairs, told: Weights, setting: Setting, default: Setting) -> tuple[tuple[float, ...], ...]:
    """How a cause acts is one thing in the whole fleet: each form is weighed by all pairs, against all other causes."""
    owner, start = np.array(cause_of_view(pairs.kind)), list(starts_of(pairs.kind))
    factors = np.exp(np.minimum(log_factors(pairs, setting), TOP)) * np.array(setting.priors)[owner][:, None]
    by_cause = np.add.reduceat(told.views.sum(axis=2), start, axis=1)
    others = (told.luck + told.unexplained + by_cause.sum(axis=1))[:, None] - by_cause
    logs = np.log(others[:, owner, None] + factors).sum(axis=0)
    logs += np.log(np.array(default.strengths))
    result = np.empty_like(logs)
    for cause in range(len(start)):
        own = owner == cause
        raw = np.exp(logs[own] - logs[own].max())
        result[own] = raw / raw.sum()
    floor = 1e-6  # a form is never ruled out for ever
    return tuple(tuple(float(each) for each in row) for row in np.maximum(result, floor))
