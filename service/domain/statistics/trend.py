"""Whether failures of one item come faster or slower: three tests against a constant rate.

Ages at failure ascend from above 0, in any unit of time; `end` is the age until which the item was watched, None where
the watching ended with the last failure.
"""

from bisect import bisect_left, bisect_right, insort
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import log, sqrt

import numpy as np
from scipy.special import chdtr, chdtrc, ndtr  # type: ignore[import-untyped]

from service.domain.statistics.refusal import at_least
from service.domain.statistics.watching import counted

EXACT_UP_TO = 50  # gaps; beyond, the normal approximation is off by less than 0.001


@dataclass(frozen=True, slots=True)
class Trend:
    """A test statistic with its one-sided probabilities of so much worsening, or so much improvement, by luck."""

    statistic: float
    worsening: float
    improving: float


def laplace(ages: Sequence[float], *, end: float | None) -> Trend:
    """Compare the mean age at failure with the middle of the time watched.

    .. math:: U = \\frac{\\bar t - T/2}{T \\sqrt{1/(12 n)}}

    Parameters
    ----------
    ages : sequence of float
        from 3, one more without `end` [time]
    end : float or None
        end of watching [time]

    Returns
    -------
    Trend
        U, standard normal under a constant rate; above 0 is worsening [-]

    Raises
    ------
    TooFew
        under 3 counted failures
    ValueError
        ages not ascending, or beyond the end

    Notes
    -----
    Of the right size from 3 failures on, but with little power under 8. Lifetimes that grow old and are renewed, and
    not repaired as they were, make it too shy.

    References
    ----------
    NIST/SEMATECH e-Handbook 8.2.3.4; Cox and Lewis 1966; Ascher and Feingold 1984.

    Examples
    --------
    >>> laplace([5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478], end=1500).statistic
    -1.3269
    """
    inner, last = counted(ages, end=end, needed=3, what="the Laplace test")
    u = (sum(inner) / len(inner) - last / 2.0) / (last * sqrt(1.0 / (12.0 * len(inner))))
    return Trend(u, float(ndtr(-u)), float(ndtr(u)))


def military_handbook(ages: Sequence[float], *, end: float | None) -> Trend:
    """Sum the logarithms of how much of the time watched was left after each failure.

    .. math:: X^2 = 2 \\sum \\ln(T / t_i) \\sim \\chi^2_{2n}

    Parameters
    ----------
    ages : sequence of float
        from 3, one more without `end` [time]
    end : float or None
        end of watching [time]

    Returns
    -------
    Trend
        chi-square with two degrees of freedom a counted failure; small is worsening [-]

    Raises
    ------
    TooFew
        under 3 counted failures
    ValueError
        ages not ascending, or beyond the end

    Notes
    -----
    Exact for every number, best against a power law; with little power under 8 failures.

    References
    ----------
    MIL-HDBK-189 (1981); NIST/SEMATECH e-Handbook 8.2.3.4.

    Examples
    --------
    >>> military_handbook([5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478], end=1500).improving
    0.010986
    """
    inner, last = counted(ages, end=end, needed=3, what="the MIL-HDBK-189 test")
    x = 2.0 * sum(log(last / age) for age in inner)
    return Trend(x, float(chdtr(2 * len(inner), x)), float(chdtrc(2 * len(inner), x)))


def reverse_arrangements(ages: Sequence[float]) -> Trend:
    """Count the pairs of gaps of which the later is the longer.

    .. math:: R = \\#\\{j < k: x_j < x_k\\}

    Parameters
    ----------
    ages : sequence of float
        from 5 [time]

    Returns
    -------
    Trend
        R; small is worsening. Equal gaps count against both verdicts [-]

    Raises
    ------
    TooFew
        under 5 failures: 4 gaps cannot reach 1 %
    ValueError
        ages not ascending

    Notes
    -----
    Asks nothing of how gaps are distributed. Exact by Mahonian numbers up to 50 gaps, beyond by the normal
    approximation with its continuity correction. The time after the last failure is not used.

    References
    ----------
    NIST/SEMATECH e-Handbook 8.2.3.4; Kendall 1938; Mann 1945.

    Examples
    --------
    >>> reverse_arrangements([5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478]).statistic
    33.0
    """
    at_least(5, len(ages), "the reverse-arrangement test")
    counted(ages, end=ages[-1], needed=5, what="the reverse-arrangement test")
    longer, equal = _later_longer([second - first for first, second in pairwise((0.0, *ages))])
    chance = _exact if len(ages) <= EXACT_UP_TO else _approximate
    pairs = len(ages) * (len(ages) - 1) // 2
    return Trend(float(longer), chance(longer + equal, len(ages)), chance(pairs - longer, len(ages)))


def _later_longer(gaps: list[float]) -> tuple[int, int]:
    longer, equal, before = 0, 0, list[float]()
    for gap in gaps:
        low = bisect_left(before, gap)
        longer, equal = longer + low, equal + bisect_right(before, gap) - low
        insort(before, gap)
    return longer, equal


def _exact(most: int, size: int) -> float:
    """P(at most so many) of `size` gaps in random order; as likely as so many the other way."""
    ways = np.ones(1)
    for length in range(2, size + 1):
        ways = np.convolve(ways, np.full(length, 1.0 / length))
    return float(min(1.0, ways[: most + 1].sum()))


def _approximate(most: int, size: int) -> float:
    spread = sqrt((2 * size + 5) * (size - 1) * size / 72.0)
    return float(ndtr((most - size * (size - 1) / 4.0 + 0.5) / spread))
