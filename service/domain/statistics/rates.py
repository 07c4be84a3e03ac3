"""Counts of failures against the expected number: exact Poisson, and two periods of one rate."""

from math import exp, lgamma, log, log1p

from scipy.special import bdtrc, betainc, chdtri, pdtrc  # type: ignore[import-untyped]

from service.domain.physics.ranges import Range
from service.domain.statistics.refusal import at_least

EXPECTED = Range("expected number", 0.0, 1e9, "-")
EXPOSURE = Range("exposure", 1e-12, 1e15, "of time")
SHAPE = Range("shape of the spread", 1e-3, 1e9, "-")
SHARE = Range("share of the time", 0.0, 1.0, "-")
ALIKE = 1e-7  # probabilities this close are equal, as in R's exact tests (from memory)


def chance_of(count: int, *, expected: float) -> float:
    """Find the probability of at least so many failures by chance.

    .. math:: P(N \\ge n) = 1 - \\sum_{k < n} e^{-E} E^k / k!

    Parameters
    ----------
    count : int
        failures seen; 0 or less is certain [-]
    expected : float
        at the fleet's rate, 0 to 1e9 [-]

    Returns
    -------
    float
        probability [-]

    Raises
    ------
    OutOfRange
        expected number outside its range

    Notes
    -----
    Exact where the expected number is known and all units are alike; too low where they differ. For a window fixed
    beforehand: `scan_probability` is for one that was chosen by its failures.

    References
    ----------
    Garwood 1936.

    Examples
    --------
    >>> chance_of(3, expected=0.2333)
    0.00178
    """
    EXPECTED.check(expected)
    return 1.0 if count <= 0 else float(pdtrc(count - 1, expected))


def varied_chance_of(count: int, *, expected: float, shape: float) -> float:
    """Find the probability of at least so many failures by chance where the rates of units vary as a gamma.

    .. math:: P(N \\ge n), \\quad N \\sim NB, \\quad E[N] = E, \\quad Var[N] = E + E^2 / a

    Parameters
    ----------
    count : int
        failures seen; 0 or less is certain [-]
    expected : float
        at the fleet's mean rate, 0 to 1e9 [-]
    shape : float
        1 / CV^2 of the units' rates, above 0 [-]

    Returns
    -------
    float
        probability [-]

    Raises
    ------
    OutOfRange
        expected number or shape outside its range

    References
    ----------
    Greenwood and Yule 1920.

    Examples
    --------
    >>> varied_chance_of(3, expected=0.2333, shape=4)
    0.00295
    """
    EXPECTED.check(expected)
    SHAPE.check(shape)
    return 1.0 if count <= 0 else float(betainc(count, shape, expected / (expected + shape)))


def rate_interval(count: int, *, exposure: float, confidence: float = 0.95) -> tuple[float, float]:
    """Find the exact confidence limits of a rate.

    .. math:: \\chi^2_{\\alpha/2; 2n} / (2e), \\quad \\chi^2_{1 - \\alpha/2; 2n + 2} / (2e)

    Parameters
    ----------
    count : int
        failures, from 0 [-]
    exposure : float
        component-time watched, above 0 [time]
    confidence : float
        of the interval, two-sided [-]

    Returns
    -------
    tuple of float
        lower and upper limit [1/time]

    Raises
    ------
    OutOfRange
        no exposure

    References
    ----------
    Garwood 1936; NIST/SEMATECH e-Handbook 8.4.5.1.

    Examples
    --------
    >>> rate_interval(0, exposure=10)
    (0.0, 0.36889)
    """
    EXPOSURE.check(exposure)
    tail = (1.0 - confidence) / 2.0
    low = float(chdtri(2 * count, 1.0 - tail)) / 2.0 if count else 0.0
    return low / exposure, float(chdtri(2 * count + 2, tail)) / 2.0 / exposure


def first_period_chance(first: int, total: int, *, share: float) -> float:
    """Find the probability that at least so many of all failures fall into one part of the time, at one rate.

    .. math:: P(X \\ge x), \\quad X \\sim Bin(n, f)

    Parameters
    ----------
    first : int
        failures in that part [-]
    total : int
        failures in all, from 1 [-]
    share : float
        of the time that lies in that part, 0 to 1 [-]

    Returns
    -------
    float
        one-sided probability [-]

    Raises
    ------
    TooFew
        no failure
    OutOfRange
        share outside 0 to 1

    Notes
    -----
    Exact. Before and after a remedy, or exposed and not.

    References
    ----------
    Przyborowski and Wilenski 1940.

    Examples
    --------
    4 in the 1.5 years before a remedy, none in the year after:

    >>> first_period_chance(4, 4, share=0.6)
    0.1296
    """
    at_least(1, total, "the two-period test")
    SHARE.check(share)
    return 1.0 if first <= 0 else float(bdtrc(first - 1, total, share))


def two_periods(first: int, second: int, *, first_time: float, second_time: float) -> float:
    """Find the two-sided probability of counts so unlike in two periods of one rate.

    The sum over all splits that are no more probable than the one seen.

    Parameters
    ----------
    first : int
        failures in the first period [-]
    second : int
        failures in the second, from 1 together [-]
    first_time : float
        its length, above 0 [time]
    second_time : float
        its length, above 0 [time]

    Returns
    -------
    float
        probability [-]

    Raises
    ------
    TooFew
        no failure
    OutOfRange
        a period without length

    References
    ----------
    Przyborowski and Wilenski 1940.

    Examples
    --------
    >>> two_periods(11, 21, first_time=800, second_time=3011)
    0.07967
    """
    total, share = first + second, _share(first_time, second_time)
    at_least(1, total, "the two-period test")
    chances = _splits(total, share)
    return min(1.0, sum(each for each in chances if each <= chances[first] * (1.0 + ALIKE)))


def _share(first_time: float, second_time: float) -> float:
    return EXPOSURE.check(first_time) / (first_time + EXPOSURE.check(second_time))


def _splits(total: int, share: float) -> list[float]:
    """The binomial probabilities of 0 to `total`, by logarithms: they hold for thousands."""
    ways = [lgamma(total + 1) - lgamma(k + 1) - lgamma(total - k + 1) for k in range(total + 1)]
    return [exp(way + k * log(share) + (total - k) * log1p(-share)) for k, way in enumerate(ways)]
