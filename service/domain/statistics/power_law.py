"""The power law of failures under minimal repair: rate = scale x shape x age^(shape - 1), shape above 1 worsening.

Fitted by maximum likelihood to one item, to several with their own ends, or to counts by period. For an item repaired
to as it was before the failure; never for one renewed. Ages in any unit of time, from 0 when new.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import log, sqrt

from scipy.optimize import brentq  # type: ignore[import-untyped]
from scipy.special import chdtri, ndtri  # type: ignore[import-untyped]

from service.domain.statistics.refusal import at_least
from service.domain.statistics.watching import counted

NEEDED = 8  # with 3 failures the shape comes out half as much again too high
SHAPES = (1e-6, 1e3)


@dataclass(frozen=True, slots=True)
class PowerLaw:
    """Shape [-], scale [1/time^shape]; `unbiased` is the shape freed of its small-sample bias [-]."""

    shape: float
    scale: float
    unbiased: float

    def rate(self, age: float) -> float:
        """Failures per unit of time at this age."""
        return float(self.scale * self.shape * age ** (self.shape - 1.0))


def power_law(ages: Sequence[float], *, end: float | None) -> PowerLaw:
    """Fit one item.

    .. math:: \\hat\\beta = n / \\sum \\ln(T / t_i), \\quad \\hat\\lambda = n / T^{\\hat\\beta},
        \\quad \\bar\\beta = (m - 1) / \\sum \\ln(T / t_i)

    with m = n, or n - 1 where watching ended with the last failure.

    Parameters
    ----------
    ages : sequence of float
        from 8, one more without `end` [time]
    end : float or None
        end of watching [time]

    Returns
    -------
    PowerLaw
        shape [-] and scale [1/time^shape]

    Raises
    ------
    TooFew
        under 8 counted failures
    ValueError
        ages not ascending, beyond the end, or all at the end

    References
    ----------
    Crow 1975, AMSAA TR-138; MIL-HDBK-189.

    Examples
    --------
    >>> power_law([5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478], end=1500)
    PowerLaw(shape=0.5372, scale=0.1967, unbiased=0.4835)
    """
    inner, last = counted(ages, end=end, needed=NEEDED, what="the power law")
    total = _logs(inner, last)
    shape = len(ages) / total
    return PowerLaw(shape, len(ages) / last**shape, (len(inner) - 1) / total)


def power_law_of_several(items: Sequence[tuple[Sequence[float], float]]) -> PowerLaw:
    """Fit several items of one law, each (ages, end of watching); those that never failed count too.

    .. math:: n / \\beta + \\sum \\ln t - n \\sum T_q^\\beta \\ln T_q / \\sum T_q^\\beta = 0,
        \\quad \\lambda = n / \\sum T_q^\\beta

    Parameters
    ----------
    items : sequence of (sequence of float, float)
        from 8 failures together [time]

    Returns
    -------
    PowerLaw
        shape [-] and scale [1/time^shape]; `unbiased` is exact where all ends are one

    Raises
    ------
    TooFew
        under 8 failures together
    ValueError
        ages not ascending, beyond their end, or all at the end

    Notes
    -----
    An item watched until its last failure has that age as its end; `unbiased` is then a little high.

    References
    ----------
    Crow 1975, AMSAA TR-138.

    Examples
    --------
    >>> power_law_of_several([([20, 90, 160, 190], 200), ([50, 150, 170, 195], 200), ([], 100)]).shape
    1.7671
    """
    ages = [age for own, end in items if own for age in counted(own, end=end, needed=1, what="an item")[0]]
    at_least(NEEDED, len(ages), "the power law of several items")
    longest = max(end for _, end in items)
    n, total = len(ages), _logs(ages, longest)
    ends = [end / longest for _, end in items if end > 0.0]

    def slope(shape: float) -> float:
        powers = [end**shape for end in ends]
        mean_log = sum(p * log(end) for p, end in zip(powers, ends, strict=True)) / sum(powers)
        return float(n * (1.0 / shape - mean_log) - total)

    shape = _root(slope)
    return PowerLaw(shape, n / sum(end**shape for _, end in items), shape * (n - 1) / n)


def power_law_of_periods(counts: Sequence[int], *, ends: Sequence[float]) -> PowerLaw:
    """Fit the numbers of failures in periods that follow one another from 0.

    .. math:: \\sum n_i \\left[ \\frac{t_i^\\beta \\ln t_i - t_{i-1}^\\beta \\ln t_{i-1}}
        {t_i^\\beta - t_{i-1}^\\beta} - \\ln T \\right] = 0, \\quad \\lambda = n / T^\\beta

    Parameters
    ----------
    counts : sequence of int
        failures in each period, from 8 together and from 2 periods [-]
    ends : sequence of float
        end of each, ascending from above 0 [time]

    Returns
    -------
    PowerLaw
        shape [-] and scale [1/time^shape]; `unbiased` as if the ages were known

    Raises
    ------
    TooFew
        under 8 failures or 2 periods
    ValueError
        ends not ascending, or all failures in the first or the last period

    References
    ----------
    MIL-HDBK-189 (1981), grouped data.

    Examples
    --------
    >>> power_law_of_periods([13, 16, 5, 8, 7], ends=[20, 40, 60, 80, 100]).shape
    0.75285
    """
    at_least(2, len(counts), "the power law of periods")
    n, last = sum(counts), ends[-1]
    at_least(NEEDED, n, "the power law of periods")
    borders = [0.0, *(end / last for end in ends)]
    if not all(first < second for first, second in pairwise(borders)):
        raise ValueError("ends must ascend from above 0")

    def slope(shape: float) -> float:
        return sum(c * _within(shape, *period) for c, period in zip(counts, pairwise(borders), strict=True) if c)

    shape = _root(slope)
    return PowerLaw(shape, n / last**shape, shape * (n - 1) / n)


def _within(shape: float, start: float, end: float) -> float:
    """(t^b ln t - s^b ln s) / (t^b - s^b) for start s and end t, both as shares of the whole."""
    if start == 0.0:
        return log(end)
    rise = (start / end) ** shape
    return (log(end) - rise * log(start)) / (1.0 - rise) if rise < 1.0 else -1.0 / SHAPES[0]


def shape_interval(ages: Sequence[float], *, end: float | None, confidence: float = 0.9) -> tuple[float, float]:
    """Find the confidence limits of the shape of one item.

    .. math:: \\chi^2_{2m} / (2 \\sum \\ln(T / t_i))

    Parameters
    ----------
    ages : sequence of float
        as of `power_law` [time]
    end : float or None
        end of watching [time]
    confidence : float
        of the interval, two-sided [-]

    Returns
    -------
    tuple of float
        lower and upper limit [-]

    Raises
    ------
    TooFew, ValueError
        as of `power_law`

    References
    ----------
    MIL-HDBK-189 (1981).

    Examples
    --------
    >>> shape_interval([5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478], end=1500)
    (0.29147, 0.84373)
    """
    inner, last = counted(ages, end=end, needed=NEEDED, what="the power law")
    total, tail = 2.0 * _logs(inner, last), (1.0 - confidence) / 2.0
    return float(chdtri(2 * len(inner), 1.0 - tail)) / total, float(chdtri(2 * len(inner), tail)) / total


def time_between(ages: Sequence[float], *, end: float, confidence: float = 0.8) -> tuple[float, float, float]:
    """Find the mean time between failures at the end, by the unbiased shape, with its confidence limits.

    .. math:: M = T / (n \\bar\\beta), \\quad M \\frac{n (n - 1)}{(n + z^2/4 + \\sqrt{n z^2/2 + z^4/16})^2},
        \\quad M \\frac{n (n - 1)}{(n - z \\sqrt{n/2})^2}

    Parameters
    ----------
    ages : sequence of float
        from 8 [time]
    end : float
        end of watching, fixed beforehand [time]
    confidence : float
        of the interval, two-sided [-]

    Returns
    -------
    tuple of float
        the mean, its lower and its upper limit [time]

    Raises
    ------
    TooFew, ValueError
        as of `power_law`; ValueError too where so much confidence has no upper limit

    References
    ----------
    NIST/SEMATECH e-Handbook 8.4.5.2.

    Examples
    --------
    >>> time_between([5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478], end=1500)
    (310.23, 157.71, 548.56)
    """
    n, mean = len(ages), end / (len(ages) * power_law(ages, end=end).unbiased)
    z = float(ndtri((1.0 + confidence) / 2.0))
    if n <= z * sqrt(n / 2.0):
        raise ValueError(f"{n} failures give no upper limit of confidence {confidence:g}")
    low = mean * n * (n - 1) / (n + z**2 / 4.0 + sqrt(n * z**2 / 2.0 + z**4 / 16.0)) ** 2
    return mean, low, mean * n * (n - 1) / (n - z * sqrt(n / 2.0)) ** 2


def _logs(ages: Sequence[float], end: float) -> float:
    total = sum(log(end / age) for age in ages)
    if total <= 0.0:
        raise ValueError("all failures lie at the end: no shape fits them")
    return total


def _root(slope: Callable[[float], float]) -> float:
    low, high = SHAPES
    if slope(low) <= 0.0 or slope(high) >= 0.0:
        raise ValueError("the failures lie all at one end: no shape fits them")
    return float(brentq(slope, low, high, xtol=1e-12))
