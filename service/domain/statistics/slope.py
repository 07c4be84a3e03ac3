"""The trend of a figure: a slope that is robust against outliers."""

from collections.abc import Sequence
from dataclasses import dataclass

LEAST_READINGS = 4
LAST_READINGS = 12
CONFIDENCE = 0.95
SOURCE = (
    "Median of the slopes between all pairs of readings: H. Theil, 1950; limits of 95 % by P. K. Sen, J. American "
    "Statistical Association 63 (1968) 1379-1389, eq. (2.6)"
)


@dataclass(frozen=True, slots=True)
class Slope:
    """A slope, and the limits between which it lies with 95 % confidence, in value's unit per time's unit."""

    slope: float
    low: float
    high: float

    @property
    def direction(self) -> str:
        """rising, falling, or unclear where the limits hold zero."""
        if self.low > 0.0:
            return "rising"
        return "falling" if self.high < 0.0 else "unclear"


def theil_sen(times: Sequence[float], values: Sequence[float]) -> Slope | None:
    """
    Return the Theil-Sen slope of values over times with its 95 % limits; None with fewer than four distinct times.

        slope = median of (y_j - y_i) / (t_j - t_i) over all pairs with t_j > t_i

    Parameters
    ----------
    times : sequence of float
        Times of the readings, in any order, [any unit of time]
    values : sequence of float
        The readings, [any unit]

    Returns
    -------
    Slope or None
        Slope and limits, [unit of the values per unit of time]

    Notes
    -----
    Up to 29 % of the readings may be wrong without carrying the slope away. With four to six readings the limits are
    wide: they are the least and the greatest of the slopes, or nearly so.

    References
    ----------
    .. [1] H. Theil, A rank-invariant method of linear and polynomial regression analysis, 1950.
    .. [2] P. K. Sen, Estimates of the regression coefficient based on Kendall's tau, J. American Statistical
       Association 63 (1968) 1379-1389, eq. (2.6).

    Examples
    --------
    M. Hollander and D. A. Wolfe, Nonparametric Statistical Methods, cloud seeding (from memory):

    >>> theil_sen([1, 2, 3, 4, 5], [1.26, 1.27, 1.12, 1.16, 1.03]).slope
    -0.05625
    """
    if len(set(times)) < LEAST_READINGS:
        return None
    from scipy.stats import theilslopes  # type: ignore[import-untyped]  # scipy ships no types

    values = [round(value, 9) for value in values]  # equal but for rounding is a tie, not a slope
    found = theilslopes(values, times, alpha=CONFIDENCE)
    return Slope(float(found.slope), float(found.low_slope), float(found.high_slope))
