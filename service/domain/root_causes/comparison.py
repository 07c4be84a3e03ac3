"""Chance, each cause and an unexplained excess compared in closed form: gamma-Poisson, the frailty integrated out.

Intensity base x frailty x [1 + (strength - 1) x score]; frailty gamma of mean 1. After Greenwood and Yule 1920.
A cause acts on a whole unit: what its other kinds say of it raises or lowers its prior for each (`support`).
Many units are weighed at once, one component kind at a time: arrays hold a row a unit, a column a view of a cause.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln  # type: ignore[import-untyped]

from service.domain.root_causes.causes import CAUSES, causes_of
from service.domain.root_causes.failures import STRENGTHS, KindFailures

Numbers = NDArray[np.float64]
EXCESS_SHAPE, EXCESS_MEAN = 2.0, 5.0
EXTRA = np.array(STRENGTHS) - 1.0
MOST = 0.9  # chance is never ruled out beforehand
MOST_SUPPORT = 1.5  # ln: other kinds can make a cause 4.5 times as probable, no more, for units differ: by simulation
STAYS, UNKNOWN_DAYS = 0.75, 183.0  # how probable it is that a cause stays, whatever was done since: judged
MOST_GAPS = 5
COMMON = 4.0  # how much units differ in all kinds alike, as a gamma's shape: half of the mean, judged
LEAST = float(np.finfo(float).tiny)
TOP = 300.0  # exp() of more is no longer a number


@dataclass(frozen=True, slots=True)
class Setting:
    """Base rate a year, gamma shape of the units' spread, by view the weights of the strengths, by cause its prior.

    `measured` are the priors of the causes where their exposure was measured in full. `worth` are the component-years
    that the rate was learned from, as it counts them; 0 for a default, `usual` the default of a learned one.
    """

    rate: float
    shape: float
    strengths: tuple[tuple[float, ...], ...]
    priors: tuple[float, ...]
    measured: tuple[float, ...]
    unexplained: float
    worth: float = 0.0
    usual: float = 0.0


@dataclass(frozen=True, slots=True)
class FailureArrays:
    """Failures of one kind, a row a unit: count and years (n,), exposed years (n, views), gains (n, views, strengths).

    `made` (n, views, strengths): the chance that a cause, if at work, made enough of the failures to count: one where
    it is always present, two where it comes and goes (`made`).
    `measured_level` (n, causes): how far each cause was measured.
    """

    kind: str
    count: Numbers
    years: Numbers
    exposed: Numbers
    gains: Numbers
    made: Numbers
    measured_level: Numbers

    def times(self, frailty: Numbers) -> "FailureArrays":
        """The same in units that fail so many times as often as others (n,)."""
        return replace(self, years=self.years * frailty, exposed=self.exposed * frailty[:, None])


Kinds = Mapping[str, tuple[FailureArrays, NDArray[np.int_]]]
"""By kind the failures, and by row the unit, a number."""


@dataclass(frozen=True, slots=True)
class Weights:
    """Prior times likelihood over chance's: chance (n,), views by strength (n, views, strengths), the excess (n,).

    As `shares` they are probabilities.
    """

    chance: Numbers
    views: Numbers
    unexplained: Numbers

    @property
    def total(self) -> Numbers:
        """Of all explanations (n,)."""
        sums: Numbers = self.chance + self.views.sum(axis=(1, 2)) + self.unexplained
        return sums

    @property
    def shares(self) -> "Weights":
        """The same in proportion: those of a unit add up to 1."""
        total = self.total
        return Weights(self.chance / total, self.views / total[:, None, None], self.unexplained / total)


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
        made(gains, exposed / years[:, None] / np.array([each.reach for each in units]).reshape(-1, views)),
        measured_by_cause(kind, np.array([each.measured_level for each in units]).reshape(-1, views)),
    )


def measured_by_cause(kind: str, views: Numbers) -> Numbers:
    """How far each cause was measured (n, causes), from its views (n, views)."""
    most: Numbers = np.maximum.reduceat(views, starts_of(kind), axis=1)
    return most


def made(gains: Numbers, often: Numbers) -> Numbers:
    """The field of that name of `FailureArrays`, from gains (n, views, strengths, 3).

    `often` (n, views) is the share of the time in which the cause is present at the positions that it concerns at all.
    By its square one failure is enough: what is there for half of the time comes and goes rather than stays.
    """
    second = 1.0 - np.minimum(1.0, often)[:, :, None] ** 2
    return np.clip(1.0 - np.exp(gains[..., 1]) * (1.0 + second * gains[..., 2]), 0.0, 1.0)


def log_factors(arrays: FailureArrays, setting: Setting) -> Numbers:
    """ln of the Bayes factors of the views against chance, by strength."""
    a, chance = setting.shape, setting.shape + setting.rate * arrays.years[:, None, None]
    with_cause = chance + setting.rate * arrays.exposed[:, :, None] * EXTRA
    return arrays.gains + (a + arrays.count[:, None, None]) * np.log(chance / with_cause)


def priors_of(arrays: FailureArrays, setting: Setting, support: Numbers | None = None) -> Numbers:
    """The prior of each cause (n, causes): higher where it was measured, and by what other kinds say of it."""
    plain, measured = np.array(setting.priors), np.array(setting.measured)
    prior: Numbers = plain + (measured - plain) * arrays.measured_level
    if support is not None:
        odds = prior / (1.0 - prior) * np.exp(support)
        prior = odds / (1.0 + odds)
    down: Numbers = np.minimum(1.0, MOST / (prior.sum(axis=1) + setting.unexplained))
    lowered: Numbers = prior * down[:, None]
    return lowered


def weighed(arrays: FailureArrays, setting: Setting, support: Numbers | None = None) -> Weights:
    """What each explanation weighs for each unit; `support` (n, causes) is what other kinds add to ln of the odds."""
    priors = priors_of(arrays, setting, support)
    by_view = priors[:, list(cause_of_view(arrays.kind)), None] * np.array(setting.strengths)
    views = np.exp(np.minimum(log_factors(arrays, setting), TOP)) * by_view
    chance = 1.0 - setting.unexplained - priors.sum(axis=1)
    excess = setting.unexplained * excess_factor(arrays.count, setting.rate * arrays.years, setting.shape)
    return Weights(chance, views, excess)


def without_own(arrays: FailureArrays, setting: Setting) -> Numbers:
    """The base rate as the other units alone give it, over that of all (n,): no unit speaks for itself.

    Not below the default, to which a fleet of one comes back, and not above that of all.
    """
    if setting.worth <= 0.0:
        return np.ones(len(arrays.count))
    seen = years_seen(arrays.count, arrays.years, setting.rate, setting.shape)
    others = np.maximum(setting.worth - seen, 1e-9)
    left: Numbers = np.maximum(setting.rate * setting.worth - arrays.count, 0.0) / others
    lowest = min(setting.usual, setting.rate)
    ratio: Numbers = np.clip(left, lowest, setting.rate) / setting.rate
    return ratio


def years_seen(count: Numbers, years: Numbers, rate: float, shape: float) -> Numbers:
    """Component-years as the rate counts them: with what the unit's own spread multiplies (n,)."""
    seen: Numbers = years * (shape + count) / (shape + rate * years)
    return seen


def evidence_of(arrays: FailureArrays, setting: Setting) -> Numbers:
    """What the failures of this kind say of each cause (n, causes): ln of the Bayes factor against all the rest."""
    weights, priors = weighed(arrays, setting), priors_of(arrays, setting)
    acting = np.add.reduceat(weights.views.sum(axis=2), starts_of(arrays.kind), axis=1)
    rest = weights.total[:, None] - acting  # nothing, or less by rounding, beside a cause that outweighs all else
    acting, rest = np.maximum(acting, LEAST), np.maximum(rest, LEAST)
    found: Numbers = np.log(acting / priors) - np.log(rest / (1.0 - priors))
    return np.clip(found, -MOST_SUPPORT, MOST_SUPPORT)


def support_of(kinds: Kinds, settings: Callable[[str], Setting], *, units: int) -> dict[str, Numbers]:
    """What the other kinds of each unit add to ln of the odds of each cause, by kind (n, causes)."""
    each = {kind: evidence_of(arrays, settings(kind)) for kind, (arrays, _) in kinds.items()}
    sums = np.zeros((units, len(CAUSES)))
    for kind, (_, owners) in kinds.items():
        np.add.at(sums, (owners[:, None], np.array(causes_at(kind))[None, :]), each[kind])
    return {
        kind: np.clip(sums[owners][:, causes_at(kind)] - each[kind], -MOST_SUPPORT, MOST_SUPPORT)
        for kind, (_, owners) in kinds.items()
    }


def frailty_of(kinds: Kinds, settings: Callable[[str], Setting], silent: Numbers) -> dict[str, Numbers]:
    """How many times as often as by the fleet's rates parts fail by chance in each unit, by kind (n,).

    A unit that runs long hours wears out all that is in it: the other kinds show it. Its own failures are taken out of
    the rates. `silent` (units,) are the failures expected of the kinds of which nothing failed. By its other kinds
    never less than once: other parts that last excuse nothing.
    """
    failed, expected = np.zeros(len(silent)), np.array(silent)
    own: dict[str, tuple[Numbers, Numbers]] = {}
    for kind, (arrays, owners) in kinds.items():
        chance = compare(arrays, settings(kind)).chance
        own[kind] = chance * arrays.count, chance * settings(kind).rate * arrays.years
        np.add.at(failed, owners, own[kind][0])
        np.add.at(expected, owners, own[kind][1])
    return {
        kind: np.maximum(1.0, (COMMON + failed[owners] - own[kind][0]) / (COMMON + expected[owners] - own[kind][1]))
        * without_own(arrays, settings(kind))
        for kind, (arrays, owners) in kinds.items()
    }


@lru_cache(maxsize=64)
def causes_at(kind: str) -> tuple[int, ...]:
    """The places of a kind's causes in `CAUSES`."""
    return tuple(CAUSES.index(cause) for cause in causes_of(kind))


def compare(arrays: FailureArrays, setting: Setting, support: Numbers | None = None) -> Weights:
    """The probabilities of all explanations of each unit's failures; what a cause did not make counts as chance."""
    weights = weighed(arrays, setting, support)
    chance = weights.chance + (weights.views * (1.0 - arrays.made)).sum(axis=(1, 2))
    return Weights(chance, weights.views * arrays.made, weights.unexplained).shares


def excess_factor(count: Numbers, expected: Numbers, shape: float) -> Numbers:
    """The Bayes factor of an excess of fivefold mean against chance: two negative binomials."""
    gap = log_nb(count, shape=EXCESS_SHAPE, mean=EXCESS_MEAN * expected) - log_nb(count, shape=shape, mean=expected)
    return np.exp(np.minimum(TOP, gap))


def log_nb(count: Numbers, *, shape: float, mean: Numbers) -> Numbers:
    """ln of the negative binomial's probability, less the count's own factorial."""
    ways: Numbers = gammaln(shape + count) - gammaln(shape)
    return ways + shape * np.log(shape / (shape + mean)) + count * np.log(mean / (shape + mean))


def still_at_work(failure_days: Numbers | int, *, span: Numbers | int, quiet: Numbers | int) -> Numbers:
    """How probable it is that a cause is still at work after so many quiet days, given failures over a span of days.

    The chance of none in so long a time at the rate of the span, half a year added for what is not known of it (the
    exact two-period comparison, Przyborowski and Wilenski 1940), against a cause that has ended. No more than
    `MOST_GAPS` gaps between failures count, so that no cause is gone within weeks.
    """
    watched = np.asarray(span, dtype=float) + UNKNOWN_DAYS
    none = (watched / (watched + quiet)) ** np.minimum(np.asarray(failure_days) - 1, MOST_GAPS)
    still: Numbers = STAYS * none / (STAYS * none + 1.0 - STAYS)
    return still
