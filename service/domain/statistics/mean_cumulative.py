"""The mean cumulative number of failures per unit by age, with Nelson's variance.

A fleet is taken over with units of every age. A unit counts at an age only if it was watched at that age: earlier
failures were not recorded.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import exp, nextafter, sqrt

from scipy.special import ndtri  # type: ignore[import-untyped]

from service.domain.statistics.refusal import at_least


@dataclass(frozen=True, slots=True)
class Step:
    """An age [time], the number of units watched then, the mean number of failures so far and its variance."""

    age: float
    at_risk: int
    mean: float
    variance: float

    def limits(self, confidence: float = 0.95) -> tuple[float, float]:
        """Lower and upper limit of the mean, M exp(-+ z s / M): always above 0. Nelson 2003; the usual log form."""
        factor = exp(float(ndtri((1.0 + confidence) / 2.0)) * sqrt(self.variance) / self.mean)
        return self.mean / factor, self.mean * factor


@dataclass(frozen=True, slots=True)
class Watch:
    """A unit's failures by age [time], watched after one age and up to and including another."""

    ages: tuple[float, ...]
    after: float
    until: float

    @classmethod
    def whole(cls, ages: Iterable[float], until: float) -> "Watch":
        """A unit watched from its beginning, including age 0."""
        return cls(tuple(ages), nextafter(0.0, -1.0), until)

    def within(self, after: float, until: float) -> "Watch":
        """The same, watched in this span at most."""
        after, until = max(after, self.after), min(until, self.until)
        return Watch(tuple(age for age in self.ages if after < age <= until), after, until)


def longest_span(watches: Sequence[Watch], least: int) -> tuple[float, float] | None:
    """(after, until): the longest span of ages at each of which so many units were watched; None where there is none.

    Where few are watched, one event moves the mean by much, and its variance cannot be estimated.
    """
    changes: Counter[float] = Counter()
    for watch in watches:
        if watch.until > watch.after:
            changes[watch.after] += 1
            changes[watch.until] -= 1
    return max(_spans(changes, least), key=lambda span: span[1] - span[0], default=None)


def _spans(changes: Counter[float], least: int) -> Iterator[tuple[float, float]]:
    watched, start = 0, None
    for age in sorted(changes):
        watched += changes[age]
        if start is None and watched >= least:
            start = age
        elif start is not None and watched < least:
            yield start, age
            start = None


def mean_cumulative(watches: Sequence[Watch]) -> tuple[Step, ...]:
    """Find the mean number of failures per unit since the first age watched, a step at each age at which any failed.

    .. math:: M(t) = \\sum_{t_k \\le t} \\bar d_k, \\quad
        Var = \\sum_i \\left[ \\sum_{t_k \\le t} \\frac{\\delta_{ik}}{\\delta_k} (d_{ik} - \\bar d_k) \\right]^2

    with the delta of those watched at an age, d their failures, and the mean of d over them.

    Parameters
    ----------
    watches : sequence of Watch
        failures in any order, from 2 units [time]

    Returns
    -------
    tuple of Step
        by age

    Raises
    ------
    TooFew
        under 2 units
    ValueError
        a failure at an age at which its unit was not watched

    Notes
    -----
    Holds for any process of failures, where watching begins and ends for reasons that have nothing to do with them.
    Good from about 20 units watched; where few are left, steps jump.

    References
    ----------
    W. Nelson 1988, 1995 and 2003; Lawless and Nadeau 1995.

    Examples
    --------
    >>> three = [Watch.whole([5, 8], 12), Watch.whole([], 16), Watch.whole([1, 8, 16], 20)]
    >>> [round(step.mean, 4) for step in mean_cumulative(three)]
    [0.3333, 0.6667, 1.3333, 1.8333]
    """
    at_least(2, len(watches), "the mean cumulative function")
    failed_at, ever = _by_age(watches), [index for index, w in enumerate(watches) if w.until > w.after]
    begin = sorted(ever, key=lambda index: watches[index].after)
    leave = sorted(ever, key=lambda index: watches[index].until)
    begun, gone, mean, steps = 0, 0, 0.0, []
    # A unit's inner sum is its own share less the even one since it began. The even one is common to all watched, so
    # their squares follow from the sum of the own shares and of their squares; those of the units gone stand still.
    own, even, total, squares, still = [0.0] * len(watches), 0.0, 0.0, 0.0, 0.0
    for age in sorted(failed_at):
        while begun < len(begin) and watches[begin[begun]].after < age:
            own[begin[begun]], total, squares, begun = even, total + even, squares + even**2, begun + 1
        while watches[leave[gone]].until < age:
            share = own[leave[gone]]
            still, total, squares, gone = still + (share - even) ** 2, total - share, squares - share**2, gone + 1
        at_risk = begun - gone
        mean, even = mean + len(failed_at[age]) / at_risk, even + len(failed_at[age]) / at_risk**2
        for index in failed_at[age]:
            squares += (2.0 * own[index] + 1.0 / at_risk) / at_risk
            own[index], total = own[index] + 1.0 / at_risk, total + 1.0 / at_risk
        variance = still + squares - 2.0 * even * total + at_risk * even**2
        steps.append(Step(age, at_risk, mean, max(0.0, variance)))
    return tuple(steps)


def _by_age(watches: Sequence[Watch]) -> dict[float, list[int]]:
    failed: dict[float, list[int]] = defaultdict(list)
    for index, watch in enumerate(watches):
        for age in watch.ages:
            if not watch.after < age <= watch.until:
                raise ValueError(
                    f"a failure at {age:g} is outside its unit's time, {max(0.0, watch.after):g} to {watch.until:g}"
                )
            failed[age].append(index)
    return failed
