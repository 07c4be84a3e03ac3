"""The mean cumulative number of failures per unit by age, with Nelson's variance."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, sqrt

from scipy.special import ndtri  # type: ignore[import-untyped]

from service.domain.diagnosis.recurrence.refusal import at_least


@dataclass(frozen=True, slots=True)
class Step:
    """At this age [time] so many are still watched; the mean number of failures so far and its variance."""

    age: float
    at_risk: int
    mean: float
    variance: float

    def limits(self, confidence: float = 0.95) -> tuple[float, float]:
        """Lower and upper limit of the mean, M exp(-+ z s / M): always above 0. Nelson 2003; the usual log form."""
        factor = exp(float(ndtri((1.0 + confidence) / 2.0)) * sqrt(self.variance) / self.mean)
        return self.mean / factor, self.mean * factor


def mean_cumulative(units: Sequence[tuple[Sequence[float], float]]) -> tuple[Step, ...]:
    """Find the mean number of failures per unit by age, a step at each age at which any failed.

    .. math:: M(t) = \\sum_{t_k \\le t} \\bar d_k, \\quad
        Var = \\sum_i \\left[ \\sum_{t_k \\le t} \\frac{\\delta_{ik}}{\\delta_k} (d_{ik} - \\bar d_k) \\right]^2

    with the delta of those still watched, d their failures, and the mean of d over them.

    Parameters
    ----------
    units : sequence of (sequence of float, float)
        ages at failure, in any order, and end of watching of each, from 2 units [time]

    Returns
    -------
    tuple of Step
        by age

    Raises
    ------
    TooFew
        under 2 units
    ValueError
        a failure before its unit began or beyond its end

    Notes
    -----
    Holds for any process of failures, where watching ends for reasons that have nothing to do with them. Good from
    about 20 units watched; where few are left at the end, steps jump.

    References
    ----------
    W. Nelson 1988, 1995 and 2003; Lawless and Nadeau 1995.

    Examples
    --------
    >>> [round(step.mean, 4) for step in mean_cumulative([([5, 8], 12), ([], 16), ([1, 8, 16], 20)])]
    [0.3333, 0.6667, 1.3333, 1.8333]
    """
    at_least(2, len(units), "the mean cumulative function")
    ends, gone, mean, steps = sorted((end, index) for index, (_, end) in enumerate(units)), 0, 0.0, []
    # A unit's inner sum is its own share less the even one. The even one is common to all still watched, so that their
    # squares follow from the sum of the own shares and of their squares; those of the units gone stand still.
    own, even, total, squares, still = [0.0] * len(units), 0.0, 0.0, 0.0, 0.0
    for age, failed in sorted(_by_age(units).items()):
        while ends[gone][0] < age:
            share = own[ends[gone][1]]
            still, total, squares = still + (share - even) ** 2, total - share, squares - share**2
            gone += 1
        at_risk = len(units) - gone
        mean, even = mean + len(failed) / at_risk, even + len(failed) / at_risk**2
        for index in failed:
            squares += (2.0 * own[index] + 1.0 / at_risk) / at_risk
            own[index], total = own[index] + 1.0 / at_risk, total + 1.0 / at_risk
        variance = still + squares - 2.0 * even * total + at_risk * even**2
        steps.append(Step(age, at_risk, mean, max(0.0, variance)))
    return tuple(steps)


def _by_age(units: Sequence[tuple[Sequence[float], float]]) -> dict[float, list[int]]:
    failed: dict[float, list[int]] = defaultdict(list)
    for index, (ages, end) in enumerate(units):
        for age in ages:
            if not 0.0 <= age <= end:
                raise ValueError(f"a failure at {age:g} lies outside its unit's time, 0 to {end:g}")
            failed[age].append(index)
    return failed
