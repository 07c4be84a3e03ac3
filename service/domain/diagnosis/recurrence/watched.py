"""The mean cumulative function of units that are watched over a part of their lives only.

A fleet is taken over with units of every age. A unit then stands for an age only while it was watched at that age: what
failed before nobody told.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from service.domain.diagnosis.recurrence.mean_cumulative import Step
from service.domain.diagnosis.recurrence.refusal import at_least


@dataclass(frozen=True, slots=True)
class Watch:
    """A unit's events by age, ascending, watched after one age and up to another, that one counted in."""

    ages: tuple[int, ...]
    after: int
    until: int

    def within(self, after: int, until: int) -> "Watch":
        """The same, watched in this span at most."""
        after, until = max(after, self.after), min(until, self.until)
        return Watch(tuple(age for age in self.ages if after < age <= until), after, until)


def longest_span(watches: Sequence[Watch], least: int) -> tuple[int, int] | None:
    """(after, until): the longest span of ages at each of which so many units were watched; None where there is none.

    Where few are watched one event moves the mean by much, and its variance cannot be told.
    """
    changes: Counter[int] = Counter()
    for watch in watches:
        if watch.until > watch.after:
            changes[watch.after] += 1
            changes[watch.until] -= 1
    return max(_spans(changes, least), key=lambda span: span[1] - span[0], default=None)


def _spans(changes: Counter[int], least: int) -> Iterator[tuple[int, int]]:
    watched, start = 0, None
    for age in sorted(changes):
        watched += changes[age]
        if start is None and watched >= least:
            start = age
        elif start is not None and watched < least:
            yield start, age
            start = None


def mean_cumulative_watched(watches: Sequence[Watch]) -> tuple[Step, ...]:
    """Find the mean number of events per unit since the first age at which any was watched.

    .. math:: M(t) = \\sum_{t_k \\le t} d_k / n_k, \\quad
        Var = \\sum_i \\left[ \\sum_{t_k \\le t, i watched} (d_{ik} - d_k / n_k) / n_k \\right]^2

    with the events d at an age and the n units watched then. Of units watched from age 0 on it is Nelson's.

    Parameters
    ----------
    watches : sequence of Watch
        from 2 units [d]

    Returns
    -------
    tuple of Step
        by age [d]

    Raises
    ------
    TooFew
        under 2 units
    ValueError
        an event at an age at which its unit was not watched

    Notes
    -----
    The variance is robust to how the events of one unit hang together. When watching began and ended must have nothing
    to do with the events.

    References
    ----------
    Lawless and Nadeau 1995, from memory; W. Nelson 2003.

    Examples
    --------
    At age 2 only the first unit is watched, at age 7 both:

    >>> [step.mean for step in mean_cumulative_watched([Watch((2,), 0, 10), Watch((7,), 5, 10)])]
    [1.0, 1.5]
    """
    import numpy as np

    at_least(2, len(watches), "the mean cumulative function")
    if any(age <= watch.after or age > watch.until for watch in watches for age in watch.ages):
        raise ValueError("an event lies outside the span in which its unit was watched")
    after, until = (np.array([getattr(watch, name) for watch in watches]) for name in ("after", "until"))
    counts: dict[int, Counter[int]] = {}
    for unit, watch in enumerate(watches):
        for age in watch.ages:
            counts.setdefault(age, Counter())[unit] += 1
    strays, mean, steps = np.zeros(len(watches)), 0.0, []
    for age in sorted(counts):
        watched = (after < age) & (age <= until)
        at_risk = int(watched.sum())
        mean_own = counts[age].total() / at_risk
        mean += mean_own
        strays -= watched * (mean_own / at_risk)
        for unit, own in counts[age].items():
            strays[unit] += own / at_risk
        steps.append(Step(float(age), at_risk, mean, float((strays * strays).sum())))
    return tuple(steps)
