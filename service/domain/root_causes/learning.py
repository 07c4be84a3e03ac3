"""What is learned from the fleet: base rate, spread between units, how common causes are and how strongly they act.

Expectation maximisation of the mixture in `comparison`, with the defaults as a prior worth so many unit-years or units.
Dempster, Laird and Rubin 1977.
"""

from dataclasses import replace
from typing import Any

import numpy as np

from service.domain.root_causes.comparison import (
    EXCESS_MEAN,
    EXCESS_SHAPE,
    EXTRA,
    MOST,
    TOP,
    FailureArrays,
    Setting,
    Weights,
    cause_of_view,
    log_factors,
    log_nb,
    priors_of,
    starts_of,
    weighed,
    years_seen,
)

ROUNDS = 8
WORTH_YEARS = 20.0  # the default rate counts as so many unit-years
WORTH_UNITS = 300.0  # the default prior of an unexplained excess counts as so many units
WORTH_EXPOSED = 30.0  # those of causes as so many units that were exposed to them
WORTH_FAILURES = 3.75  # so many failures the default rate is worth: alone the spread is that of `baselines.ALONE`
SUREST = 0.9  # no measured cause is taken for surer before the failures are weighed
ENOUGH = 0.05  # share of the time from which a unit counts as exposed
SHAPES = np.array([1.2, 1.6, 2.0, 2.5, 3.2, 4.0, 5.0, 6.3, 8.0, 12.0])
USUAL_SHAPE, SHAPE_WIDTH = 2.5, 0.3  # the prior of ln(shape): coefficient of variation 0.63, judged on simulated fleets


def learned(arrays: FailureArrays, default: Setting) -> Setting:
    """The setting that fits a fleet, drawn to the default."""
    setting = replace(default, shape=USUAL_SHAPE)
    for _ in range(ROUNDS):
        weights = weighed(arrays, setting)
        shares = weights.shares
        rate, worth = _rate(arrays, shares, setting, default.rate)
        setting = replace(
            setting,
            rate=rate,
            worth=worth,
            usual=default.rate,
            shape=_shape(arrays, shares, rate),
            strengths=_strengths(arrays, weights, setting, default),
            **_priors(arrays, shares, default),
        )
    by_chance = weighed(arrays, setting).shares.chance * arrays.count  # the others say nothing of the usual spread
    known = float(by_chance.sum()) + WORTH_FAILURES
    return replace(setting, shape=1.0 / (1.0 / setting.shape + 1.0 / known))


def _rate(arrays: FailureArrays, shares: Weights, setting: Setting, default: float) -> tuple[float, float]:
    """Failures over years, and these: of each explanation counted with what it and the unit's own spread multiply."""
    a, rate, n, years = setting.shape, setting.rate, arrays.count, arrays.years
    with_cause = years[:, None, None] + arrays.exposed[:, :, None] * EXTRA
    plain = shares.chance * years_seen(n, years, rate, a)
    caused = shares.views * with_cause * (a + n)[:, None, None] / (a + rate * with_cause)
    excess = shares.unexplained * years * (EXCESS_SHAPE + n) / (EXCESS_SHAPE / EXCESS_MEAN + rate * years)
    seen = float(plain.sum() + caused.sum() + excess.sum())
    return (float(n.sum()) + default * WORTH_YEARS) / (seen + WORTH_YEARS), seen + WORTH_YEARS


def _shape(arrays: FailureArrays, shares: Weights, rate: float) -> float:
    fits = [float((shares.chance * log_nb(arrays.count, shape=a, mean=rate * arrays.years)).sum()) for a in SHAPES]
    prior = -0.5 * (np.log(SHAPES / USUAL_SHAPE) / SHAPE_WIDTH) ** 2
    return float(SHAPES[int(np.argmax(np.array(fits) + prior))])


def _priors(arrays: FailureArrays, shares: Weights, default: Setting) -> dict[str, Any]:
    """How often a cause acts where it is present: units that were never exposed to it say nothing of it.

    Measured or not, it is more or less common than by default in the same proportion.
    """
    starts = starts_of(arrays.kind)
    by_cause = np.add.reduceat(shares.views.sum(axis=2), starts, axis=1)
    present = np.maximum.reduceat(arrays.exposed, starts, axis=1) / arrays.years[:, None]
    exposed, before = np.minimum(1.0, present / ENOUGH), priors_of(arrays, default)
    worth = WORTH_EXPOSED * np.array(default.priors)
    odds = ((exposed * by_cause).sum(axis=0) + worth) / ((exposed * before).sum(axis=0) + worth)
    excess = (float(shares.unexplained.sum()) + WORTH_UNITS * default.unexplained) / (len(arrays.count) + WORTH_UNITS)
    priors, measured = np.array(default.priors) * odds, np.array(default.measured) * odds
    down = min(1.0, MOST / float(priors.sum() + excess))
    return {
        "priors": tuple(float(each) * down for each in priors),
        "measured": tuple(float(each) for each in np.minimum(SUREST, measured)),
        "unexplained": excess * down,
    }


def _strengths(
    arrays: FailureArrays, weights: Weights, setting: Setting, default: Setting
) -> tuple[tuple[float, ...], ...]:
    """How a cause acts is one thing in the whole fleet: each form is weighed by all units, against all other causes."""
    owner, start = np.array(cause_of_view(arrays.kind)), list(starts_of(arrays.kind))
    factors = np.exp(np.minimum(log_factors(arrays, setting), TOP)) * priors_of(arrays, setting)[:, owner, None]
    by_cause = np.add.reduceat(weights.views.sum(axis=2), start, axis=1)
    others = (weights.chance + weights.unexplained + by_cause.sum(axis=1))[:, None] - by_cause
    logs = np.log(others[:, owner, None] + factors).sum(axis=0)
    logs += np.log(np.array(default.strengths))
    result = np.empty_like(logs)
    for cause in range(len(start)):
        own = owner == cause
        raw = np.exp(logs[own] - logs[own].max())
        result[own] = raw / raw.sum()
    floor = 1e-6  # a form is never ruled out for ever
    return tuple(tuple(float(each) for each in row) for row in np.maximum(result, floor))
