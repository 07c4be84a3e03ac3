"""How many parts and how much fluid a day is likely to need, and the chance that a van runs short.

Parts: the number replaced at a visit is Poisson with a rate for each kind, model and age of component, which is itself
not known exactly: a gamma prior whose mean is that of like components, worth `PRIOR_VISITS`, makes the number at the
coming visits negative binomial. Source: Gelman et al., Bayesian Data Analysis, 3rd edition, section 2.6 (clause from
memory).
"""

from collections.abc import Iterable, Sequence
from itertools import accumulate
from math import ceil, exp, lgamma, log, log1p
from statistics import NormalDist

import numpy as np

from service.domain.condition.parts import Seen

PRIOR_VISITS = 20.0  # the worth of what is known of like components; common practice, no source
NEGLIGIBLE = 1e-9
MOST = 10_000  # events, where rounding keeps the sum of the chances from one
STRENGTH_SPREAD = 0.015  # [kg/kg], of a strength found against the last one (standard deviation); common practice
POINTS = 9
STEP = 0.1e-3  # [m3]


def negative_binomial(shape: float, rate: float, coming: float) -> list[float]:
    """The chances of 0, 1, 2, ... events in `coming`, whose rate is gamma distributed by shape and rate.

    Without spread it is Poisson; with shape 2 and rate 4 none happen at 2 visits with (4/6)^2:

    >>> round(negative_binomial(2.0, 4.0, 2.0)[0], 4)
    0.4444
    """
    found: list[float] = []
    part = coming / (rate + coming)
    for n in range(MOST):
        inside = lgamma(shape + n) - lgamma(shape) - lgamma(n + 1) + shape * log1p(-part)
        found.append(exp(inside + (n * log(part) if n else 0.0)))
        if sum(found) >= 1 - NEGLIGIBLE:
            break
    return found


def needed_of(groups: Iterable[tuple[Seen, Seen, int]], whole: Seen) -> list[float]:
    """The chances of needing 0, 1, 2, ... parts of a kind, of which `whole` is all that was seen.

    Each group is what was seen of a model and age, of all models of that age, and how many of it are visited. A model
    is expected to fail as others of its age do, these as the kind does, until enough of each was seen.
    """
    mean = (whole.replaced + 0.5) / (whole.visits + 1.0)
    chances = [1.0]
    for own, like, coming in groups:
        if coming:
            others = like - own
            usual = (PRIOR_VISITS * mean + others.replaced) / (PRIOR_VISITS + others.visits)
            shape, rate = PRIOR_VISITS * usual + own.replaced, PRIOR_VISITS + own.visits
            chances = convolved(chances, negative_binomial(shape, rate, coming))
    return chances


def convolved(a: Sequence[float], b: Sequence[float]) -> list[float]:
    """The chances of a sum.

    >>> convolved([0.5, 0.5], [0.5, 0.5])
    [0.25, 0.5, 0.25]
    """
    found: list[float] = np.convolve(a, b).tolist()
    while len(found) > 1 and found[-1] < NEGLIGIBLE:
        found.pop()
    return found


def chance_short(chances: Sequence[float], stock: int) -> float:
    """The chance that more is needed than there is.

    >>> chance_short([0.25, 0.5, 0.25], 1)
    0.25
    """
    return max(1.0 - sum(chances[: stock + 1]), 0.0)


def enough(chances: Sequence[float], chance: float) -> int:
    """The least number with which the chance of running short is no more than this."""
    return next((n for n, up_to in enumerate(accumulate(chances)) if 1.0 - up_to <= chance), len(chances))


def strengths_around(latest: float) -> list[float]:
    """Strengths of equal chance that a bath may be found at."""
    normal = NormalDist(latest, STRENGTH_SPREAD)
    return [normal.inv_cdf((n + 0.5) / POINTS) for n in range(POINTS)]


def volumes(amounts: Sequence[float]) -> list[float]:
    """Amounts of equal chance [m3] as the chances of 0, 1, 2, ... steps, rounded up."""
    steps = [max(ceil(round(amount / STEP, 6)), 0) for amount in amounts]
    found = [0.0] * (max(steps, default=0) + 1)
    for step in steps:
        found[step] += 1 / len(steps)
    return found
