"""Rates of single units drawn to their fleet's: the gamma-Poisson, fitted by moments or by likelihood."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import minimize  # type: ignore[import-untyped]
from scipy.special import gammaln, psi  # type: ignore[import-untyped]

from service.domain.statistics.rates import EXPOSURE
from service.domain.statistics.refusal import at_least

NEEDED = 10
Floats = np.ndarray[tuple[int], np.dtype[np.float64]]


@dataclass(frozen=True, slots=True)
class GammaPoisson:
    """Rates vary between units as a gamma with this shape [-] and inverse scale [time]."""

    shape: float
    time: float

    def shrunk(self, count: float, exposure: float) -> float:
        """The unit's rate drawn to the fleet's, (shape + n) / (time + exposure) [1/time]. Robbins 1956."""
        return (self.shape + count) / (self.time + exposure)


def by_moments(counts: Sequence[int], exposures: Sequence[float]) -> GammaPoisson | None:
    """Fit the spread of units' rates by mean and variance.

    .. math:: m = \\sum n / \\sum e, \\quad v = \\frac{\\sum e (n/e - m)^2 - m (k - 1)}{\\sum e - \\sum e^2 / \\sum e},
        \\quad b = m / v, \\quad a = m b

    Parameters
    ----------
    counts : sequence of int
        failures of each unit, from 10 units [-]
    exposures : sequence of float
        time watched of each, above 0 [time]

    Returns
    -------
    GammaPoisson or None
        None where units differ no more than by luck: all have the mean

    Raises
    ------
    TooFew
        under 10 units
    OutOfRange
        a unit without exposure

    References
    ----------
    Robbins 1956; Efron and Hastie, Computer Age Statistical Inference, chapter 6.

    Examples
    --------
    >>> by_moments([5, 1, 5, 14, 3, 19, 1, 1, 4, 22], [94.3, 15.7, 62.9, 126, 5.24, 31.4, 1.05, 1.05, 2.1, 10.5])
    GammaPoisson(shape=0.2281, time=1.0653)
    """
    n, e = _checked(counts, exposures)
    total = e.sum()
    mean = n.sum() / total
    surplus = (e * (n / e - mean) ** 2).sum() - mean * (len(n) - 1)
    variance = surplus / (total - (e * e).sum() / total)
    return GammaPoisson(float(mean * mean / variance), float(mean / variance)) if variance > 0.0 else None


def by_likelihood(counts: Sequence[int], exposures: Sequence[float]) -> GammaPoisson | None:
    """Fit the spread of units' rates by maximum likelihood.

    .. math:: \\max_{a, b} \\sum [\\ln \\Gamma(a + n) - \\ln \\Gamma(a) + a \\ln b - (a + n) \\ln(b + e)]

    Parameters
    ----------
    counts : sequence of int
        failures of each unit, from 10 units [-]
    exposures : sequence of float
        time watched of each, above 0 [time]

    Returns
    -------
    GammaPoisson or None
        None where the likelihood rises until all units have the mean

    Raises
    ------
    TooFew
        under 10 units
    OutOfRange
        a unit without exposure

    Notes
    -----
    Uses the data better than the moments, but is unsteady under about 30 units.

    References
    ----------
    Gaver and O'Muircheartaigh 1987.

    Examples
    --------
    >>> by_likelihood([5, 1, 5, 14, 3, 19, 1, 1, 4, 22], [94.3, 15.7, 62.9, 126, 5.24, 31.4, 1.05, 1.05, 2.1, 10.5])
    GammaPoisson(shape=0.8230, time=1.2617)
    """
    n, e = _checked(counts, exposures)
    mean = n.sum() / e.sum()
    if ((n - mean * e) ** 2 - n).sum() <= 0.0:
        return None
    start = by_moments(counts, exposures) or GammaPoisson(1.0, float(1.0 / mean))
    begin = np.log([start.shape, start.time])
    found = np.exp(minimize(_unlikelihood, begin, args=(n, e), jac=True, method="BFGS", options={"gtol": 1e-8}).x)
    return GammaPoisson(float(found[0]), float(found[1]))


def _unlikelihood(logs: Floats, n: Floats, e: Floats) -> tuple[float, Floats]:
    """The negative log-likelihood by ln a and ln b, with its slopes."""
    a, b = np.exp(logs)
    value = (gammaln(a + n) - gammaln(a) + a * logs[1] - (a + n) * np.log(b + e)).sum()
    by_a = (psi(a + n) - psi(a) + logs[1] - np.log(b + e)).sum()
    by_b = (a / b - (a + n) / (b + e)).sum()
    return -float(value), np.array([-a * by_a, -b * by_b])


def _checked(counts: Sequence[int], exposures: Sequence[float]) -> tuple[Floats, Floats]:
    at_least(NEEDED, len(counts), "the spread between units")
    if len(exposures) != len(counts):
        raise ValueError(f"{len(counts)} counts need as many exposures, there are {len(exposures)}")
    return np.array(counts, dtype=float), np.array([EXPOSURE.check(each) for each in exposures], dtype=float)
