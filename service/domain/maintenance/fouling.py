"""How long until it is heavily fouled, from the grades found, each of which says only how far it had come by then.

The time to heavy of a unit is log-normal around its own median, and the medians of the units around that of their
surroundings. A grade after so many days says between which limits the unit's time lies (interval censoring): heavy
that it was shorter, light that it was longer; clean and blocked have limits of their own, at a fixed share and
multiple of it.

Fitted by the likelihood over a grid of medians, for the fleet by expectation maximisation: W. Q. Meeker and
L. A. Escobar, Statistical Methods for Reliability Data, 1998, chapters 3 and 7 (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import count
from math import erfc, exp, log, sqrt
from operator import mul

Found = tuple[int, str]  # days in service, and the grade found

POINTS = 69
REACH = 6.0  # standard deviations of the medians: a unit beside a fryer may be far from the others
STEPS_AWAY = tuple(REACH * (2.0 * place / (POINTS - 1) - 1.0) for place in range(POINTS))
LEAST = 1e-300
GUESSES = 6  # of the days; nearly always four are enough, and then the range is halved
NEGLIGIBLE = 1e-12  # of the likeliest median: all less likely ones together move a probability by under 1e-10
DEFAULT_UNITS = 5.0  # as many units as the default, or the whole fleet for one class, counts for
ROUNDS = 25
SETTLED = 0.005  # so little a round changes at the end
MOST = 150  # units
WITHINS = (0.15, 0.25, 0.35, 0.5, 0.7)
LIGHT, BLOCKED = log(0.45), log(2.0)  # lightly fouled from so much of the time to heavy, blocked from there; judged


@dataclass(frozen=True, slots=True)
class Fouling:
    """The time to heavy of units of a kind: median in days, the spread of its logarithm between and within units.

    `units` and `grades` are what it was learned from.
    """

    median: float
    between: float = 0.5
    within: float = 0.35
    units: int = 0
    grades: int = 0


@dataclass(frozen=True, slots=True)
class Outlook:
    """When a unit will be found heavily fouled: medians [ln days], the probability of each, and the spread within."""

    medians: tuple[float, ...]
    chances: tuple[float, ...]
    within: float

    def chance(self, days: float) -> float:
        """The probability that it is found heavy or worse after so many days in service."""
        at, scale = log(days), 1.0 / (self.within * sqrt(2.0))
        both = zip(self.medians, self.chances, strict=True)
        return 0.5 * sum([chance * erfc((median - at) * scale) for median, chance in both])

    def days(self, chance: float, shortest: int, longest: int) -> tuple[int, float]:
        """The days after which that probability is reached, within a range, and the probability then."""
        low, high = shortest, longest + 1
        at_low: float | None = None
        middle, spread = self._normal()
        guess = middle + spread * _off(chance)
        for look in count():
            if high - low <= 1:
                break
            days = min(max(round(exp(guess)), low + 1), high - 1) if look < GUESSES else (low + high) // 2
            found = self.chance(days)
            if found > chance:
                high = days
            else:
                low, at_low = days, found
            guess = log(days) + spread * (_off(chance) - _off(found))
        return low, self.chance(low) if at_low is None else at_low

    def _normal(self) -> tuple[float, float]:
        """Mean and standard deviation of the logarithm of the time to heavy: good guesses follow from them."""
        mean = sum(map(mul, self.medians, self.chances))
        apart = sum(chance * (median - mean) ** 2 for median, chance in zip(self.medians, self.chances, strict=True))
        return mean, sqrt(apart + self.within**2)


def _off(chance: float) -> float:
    """How many standard deviations off the mean a normal variable reaches a probability, within 5e-4.

    M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 1964, 26.2.23 (from memory).
    """
    tail = max(min(chance, 1.0 - chance), LEAST)
    t = sqrt(-2.0 * log(tail))
    top, bottom = 2.515517 + t * (0.802853 + t * 0.010328), 1.0 + t * (1.432788 + t * (0.189269 + t * 0.001308))
    return (top / bottom - t) if chance < 0.5 else (t - top / bottom)


def outlook(found: Sequence[Found], fouling: Fouling) -> Outlook:
    """What the grades of one unit and the fleet say together."""
    return _outlook(tuple(found), fouling)


@lru_cache(maxsize=4096)
def _outlook(found: tuple[Found, ...], fouling: Fouling) -> Outlook:
    medians = _medians(fouling)
    logs = _logs(found, medians, fouling.within)
    top = max(logs)
    weights = [exp(each - top) for each in logs]
    total = sum(weights)
    likely = [(median, weight / total) for median, weight in zip(medians, weights, strict=True) if weight > NEGLIGIBLE]
    medians, chances = zip(*likely, strict=True)
    return Outlook(medians, chances, fouling.within)


@lru_cache(maxsize=4096)
def days_until(
    found: tuple[Found, ...], fouling: Fouling, chance: float, shortest: int, longest: int
) -> tuple[int, float]:
    """`Outlook.days` by the grades of one unit and the fleet: units with the same grades have the same."""
    return _outlook(found, fouling).days(chance, shortest, longest)


def _medians(fouling: Fouling) -> tuple[float, ...]:
    return tuple(log(fouling.median) + fouling.between * step for step in STEPS_AWAY)


def _logs(found: Sequence[Found], medians: tuple[float, ...], within: float) -> list[float]:
    """The logarithm of prior times likelihood at each median; no grade, however unlikely, counts for nothing."""
    rows = [_logs_of_grade(days, grade, medians, within) for days, grade in found] or [(0.0,) * POINTS]
    return [-0.5 * step * step + sum(own) for step, own in zip(STEPS_AWAY, zip(*rows, strict=True), strict=True)]


@lru_cache(maxsize=2048)
def _logs_of_grade(days: int, grade: str, medians: tuple[float, ...], within: float) -> tuple[float, ...]:
    """The logarithm of the likelihood of a grade at each median; units are found after much the same days."""
    at = log(days)
    return tuple(log(max(_of_grade((at - median) / within, grade, within), LEAST)) for median in medians)


def _of_grade(off: float, grade: str, within: float) -> float:
    """The probability of a grade, so many spreads after the median time to heavy."""
    light, blocked = off - LIGHT / within, off - BLOCKED / within
    if grade == "clean":
        return _below(-light)
    if grade == "light":
        return _between(off, light)
    return _between(blocked, off) if grade == "heavy" else _below(blocked)


def _below(off: float) -> float:
    return 0.5 * erfc(-off / sqrt(2.0))


def _between(low: float, high: float) -> float:
    """By the nearer tail, so that nothing is lost far from the middle."""
    return _below(-low) - _below(-high) if low > 0.0 else _below(high) - _below(low)


def learned(units: Sequence[Sequence[Found]], usual: Fouling) -> Fouling:
    """The fouling of a kind by the grades of its units, where the usual counts as several units."""
    units = [found for found in units if found][-MOST:]
    if not units:
        return usual
    known = usual
    for _ in range(ROUNDS):
        before, known = known, _moved(units, known, usual)
        if abs(log(known.median / before.median)) + abs(known.between - before.between) < SETTLED:
            break
    tried = [replace(known, within=within) for within in WITHINS]
    evidence = [sum(_evidence(tuple(found), one) for found in units) for one in tried]
    evidence = [each - 2.0 * log(one.within / usual.within) ** 2 for each, one in zip(evidence, tried, strict=True)]
    best = tried[evidence.index(max(evidence))]
    return replace(_moved(units, best, usual), units=len(units), grades=sum(len(found) for found in units))


def _moved(units: Sequence[Sequence[Found]], known: Fouling, usual: Fouling) -> Fouling:
    """The median and the spread between units that the grades show, by what is known before."""
    seen = [outlook(found, known) for found in units]
    weight = len(units) + DEFAULT_UNITS
    means = [sum(m * c for m, c in zip(each.medians, each.chances, strict=True)) for each in seen]
    centre = (sum(means) + DEFAULT_UNITS * log(usual.median)) / weight
    apart = sum(c * (m - centre) ** 2 for each in seen for m, c in zip(each.medians, each.chances, strict=True))
    spread = sqrt((apart + DEFAULT_UNITS * usual.between**2) / weight)
    return replace(known, median=exp(centre), between=max(spread, 0.1))


def _evidence(found: tuple[Found, ...], fouling: Fouling) -> float:
    medians = _medians(fouling)
    logs = _logs(found, medians, fouling.within)
    top = max(logs)
    return top + log(sum(exp(each - top) for each in logs) / sum(exp(-0.5 * step * step) for step in STEPS_AWAY))
