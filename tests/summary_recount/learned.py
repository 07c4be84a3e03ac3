"""The interval by the rule `learned` before the fleet has shown anything: DEVELOPERS.md in plain Python."""

from functools import cache
from math import erfc, exp, inf, log, sqrt

BETWEEN, WITHIN, CHANCE = 0.5, 0.35, 0.15
STEPS = [-6 + 12 * place / 68 for place in range(69)]
BOUNDS = {"clean": (0, 0.45), "light": (0.45, 1), "heavy": (1, 2), "blocked": (2, inf)}  # shares of the time to heavy


@cache
def learned_days(found, published, shortest, longest):
    """The last day on which the chance of finding it heavily fouled is at most the level.

    `found` are (days in service, grade); half of the units are heavily fouled after twice the published days.
    """
    medians = [log(2 * published) + BETWEEN * step for step in STEPS]
    logs = [
        sum((log(probability(days, grade, median)) for days, grade in found), -step * step / 2)
        for step, median in zip(STEPS, medians, strict=True)
    ]
    weights = [exp(each - max(logs)) for each in logs]
    days = shortest
    while days < longest and chance(days + 1, medians, weights) <= CHANCE:
        days += 1
    return days


def chance(days, medians, weights):
    """That it is heavily fouled after so many days."""
    both = zip(weights, medians, strict=True)
    return sum(weight * normal((log(days) - median) / WITHIN) for weight, median in both) / sum(weights)


def probability(days, grade, median):
    """That of a grade after so many days, by the nearer tail so that nothing small is lost, and never none."""
    low, high = BOUNDS[grade]
    early = -inf if high == inf else (log(days / high) - median) / WITHIN
    late = (log(days / low) - median) / WITHIN if low else inf
    if early > 0:
        early, late = -late, -early
    return max(normal(late) - normal(early), 1e-300)


def normal(off):
    """The standard normal distribution."""
    return erfc(-off / sqrt(2)) / 2
