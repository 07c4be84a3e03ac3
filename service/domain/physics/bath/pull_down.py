"""The pull-down of a bath: cooling rate, final temperature, and time to the set point."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import exp, inf, log1p, sqrt

from service.domain.physics.bath.pull_down_curve import (
    BENT,
    best_bend,
    covariance_about,
    curve_with,
    gone,
    slopes_at,
    squares_left,
    variance_about,
)
from service.domain.physics.ranges import ROUNDING, Range, above

BATH = Range("bath temperature", 233.15, 333.15, "K")
TIME = Range("time of a reading", -1e7, 1e7, "s")
SPAN = Range("time between first and last reading", 1.0, 604800.0, "s")
THERMOMETER = Range("uncertainty of the thermometer", 0.01, 5.0, "K", "temperature_difference")

THERMOMETER_UNCERTAINTY = 0.3
"""[K]: standard uncertainty of a dial or pocket thermometer read to 1 degF (common practice, no source)."""

SURE = 2.0  # [-]: standard uncertainties within which two values cannot be distinguished


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and its standard uncertainty, in the value's unit."""

    value: float
    uncertainty: float


@dataclass(frozen=True, slots=True)
class PullDown:
    """The fitted curve of a bath, T(t) = start - rate (1 - exp(-bend t)) / bend, with t from the first reading.

    Temperature at the first reading [K], cooling rate there [K/s], bend [1/s] (0: a straight line), the covariance
    of the three, time from first to last reading [s], number of readings [-], the thermometer's uncertainty [K].
    """

    start: float
    rate: float
    bend: float
    covariance: tuple[tuple[float, ...], ...]
    elapsed: float
    readings: int
    thermometer: float

    @property
    def last(self) -> float:
        """Fitted temperature at the last reading [K]."""
        return self.at(self.elapsed)

    @property
    def mean_rate(self) -> Estimate:
        """Cooling rate from the first reading to the last [K/s]."""
        slopes = [-slope / self.elapsed for slope in slopes_at(self.rate, self.bend, self.elapsed)[1:]]
        return Estimate((self.start - self.last) / self.elapsed, _spread([0.0, *slopes], self.covariance))

    def at(self, seconds: float) -> float:
        """Fitted temperature at a time after the first reading [K]."""
        return self.start - self.rate * gone(self.bend, seconds)


def fit_pull_down(
    times: Sequence[float], temperatures: Sequence[float], thermometer: float = THERMOMETER_UNCERTAINTY
) -> PullDown:
    """Fit a bath's approach to its final temperature through two or more timed readings.

    .. math:: T(t) = T_0 - r (1 - e^{-b t}) / b, \\quad T_{final} = T_0 - r / b

    Least squares in T_0, r and b >= 0; with b = 0 it is the straight line, which two readings allow only.

    Parameters
    ----------
    times : sequence of float
        times of the readings, at least two, rising; first to last 1 s to a week [s]
    temperatures : sequence of float
        bath temperatures, 233.15 to 333.15 [K]
    thermometer : float
        standard uncertainty of one reading, 0.01 to 5 [K]

    Returns
    -------
    PullDown
        the fit with its covariance; the straight line until the bend is sure [K, K/s, 1/s, s]

    Raises
    ------
    OutOfRange
        outside these limits; NaN
    ValueError
        fewer than two readings, times that do not rise, as many temperatures as times not given

    Notes
    -----
    A bath cooled by a power that falls in a straight line with its temperature, against a constant load, goes this
    way exactly. The bend is sure where it takes more than 4 variances of a reading off the sum of squares. That
    variance is the larger of the thermometer's and the scatter about the fit; the uncertainties are linearised.

    References
    ----------
    W. H. Press et al., *Numerical Recipes*, 3rd ed., section 15.5 (least squares, covariance; from memory).

    Examples
    --------
    Common practice, no source: 80 to 60 degF (299.8 to 288.7 K) in 20 min, in K/min:

    >>> fit_pull_down([0.0, 1200.0], [299.817, 288.706]).rate * 60
    0.556
    """
    _check(times, temperatures)
    THERMOMETER.check(thermometer)
    span = SPAN.check(times[-1] - times[0])
    shares = [(time - times[0]) / span for time in times]
    found = curve_with(0.0, shares, temperatures)
    covariance = covariance_about(found, shares, temperatures, thermometer)
    if len(times) > 2:
        bent = curve_with(best_bend(shares, temperatures), shares, temperatures)
        gain = squares_left(found, shares, temperatures) - squares_left(bent, shares, temperatures)
        if bent[2] > BENT and gain > SURE**2 * variance_about(bent, shares, temperatures, thermometer):
            found, covariance = bent, covariance_about(bent, shares, temperatures, thermometer)
    scale = (1.0, 1.0 / span, 1.0 / span)
    start, rate, bend = (value * by for value, by in zip(found, scale, strict=True))
    scaled = tuple(
        tuple(value * down * across for value, across in zip(row, scale, strict=True))
        for row, down in zip(covariance, scale, strict=True)
    )
    return PullDown(start, rate, bend, scaled, elapsed=span, readings=len(times), thermometer=thermometer)


def final_temperature(fit: PullDown) -> Estimate | None:
    """Find the final temperature of a bath.

    .. math:: T_{final} = T_0 - r / b

    Parameters
    ----------
    fit : PullDown
        as `fit_pull_down` finds it [K, K/s, 1/s]

    Returns
    -------
    Estimate or None
        temperature and its standard uncertainty; None while the way is still a straight line [K]

    Notes
    -----
    Extrapolated: the uncertainty is linearised and too small where it exceeds a third of the way left.

    References
    ----------
    W. H. Press et al., *Numerical Recipes*, 3rd ed., section 15.5 (from memory).

    Examples
    --------
    50, 40, 35 degC at equal times halve the way to 30 degC twice:

    >>> final_temperature(fit_pull_down([0.0, 600.0, 1200.0], [323.15, 313.15, 308.15], 0.1)).value
    303.15
    """
    if fit.bend == 0.0:
        return None
    slopes = [1.0, -1.0 / fit.bend, fit.rate / fit.bend**2]
    return Estimate(fit.start - fit.rate / fit.bend, _spread(slopes, fit.covariance))


def time_to(fit: PullDown, target: float) -> Estimate:
    """Find the time after the last reading until a bath reaches a temperature.

    .. math:: t = -\\ln(1 - b (T_0 - T) / r) / b - t_{last}

    Parameters
    ----------
    fit : PullDown
        as `fit_pull_down` finds it [K, K/s, 1/s, s]
    target : float
        temperature, 233.15 to 333.15 [K]

    Returns
    -------
    Estimate
        time and its standard uncertainty; 0 where it is there already, infinite where it never will be [s]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    From a straight line it is the earliest time: every bath slows as it comes down. A mean rate within its own
    standard uncertainty is no cooling.

    References
    ----------
    W. H. Press et al., *Numerical Recipes*, 3rd ed., section 15.5 (from memory).

    Examples
    --------
    10 K in 20 min, 5 K to go: 10 min.

    >>> time_to(fit_pull_down([0.0, 1200.0], [300.0, 290.0]), 285.0).value
    600.0
    """
    way = fit.start - BATH.check(target)
    if not above(fit.last, target):
        return Estimate(0.0, 0.0)
    cooling = fit.mean_rate
    if cooling.value <= cooling.uncertainty or fit.bend * way >= fit.rate * (1.0 - ROUNDING):
        return Estimate(inf, inf)
    seconds = -log1p(-fit.bend * way / fit.rate) / fit.bend if fit.bend > 0.0 else way / fit.rate
    speed = fit.rate * exp(-fit.bend * seconds)
    slopes = [slope / speed for slope in slopes_at(fit.rate, fit.bend, seconds)]
    return Estimate(seconds - fit.elapsed, _spread(slopes, fit.covariance))


def _check(times: Sequence[float], temperatures: Sequence[float]) -> None:
    """Reject readings that are no pull-down."""
    if len(times) != len(temperatures):
        raise ValueError(f"{len(times)} times but {len(temperatures)} temperatures are given")
    if len(times) < 2:
        raise ValueError("a pull-down needs at least two timed readings")
    for time, temperature in zip(times, temperatures, strict=True):
        TIME.check(time)
        BATH.check(temperature)
    if any(later <= earlier for earlier, later in pairwise(times)):
        raise ValueError("the times of the readings must rise")


def _spread(slopes: Sequence[float], covariance: Sequence[Sequence[float]]) -> float:
    """Return the standard uncertainty of a figure from its slopes and the covariance of its parts."""
    variance = sum(
        left * right * covariance[row][column] for row, left in enumerate(slopes) for column, right in enumerate(slopes)
    )
    return sqrt(max(variance, 0.0))
