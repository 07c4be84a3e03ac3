"""Whether a power law fits the failures of one item at all."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.domain.statistics.power_law import power_law
from service.domain.statistics.refusal import at_least
from service.domain.statistics.watching import counted

LIMITS = ((10, 0.167), (15, 0.169), (20, 0.172), (60, 0.173))
"""From so many failures on, exceeded by 10 % of true power laws: from memory of MIL-HDBK-189's table."""


@dataclass(frozen=True, slots=True)
class Fit:
    """The statistic and the limit that one true power law in ten exceeds [-]."""

    statistic: float
    limit: float

    @property
    def holds(self) -> bool:
        """Whether nothing speaks against the power law, which does not prove it."""
        return self.statistic <= self.limit


def cramer_von_mises(ages: Sequence[float], *, end: float | None) -> Fit:
    """Compare the ages, as the unbiased power law has them, with an even spread.

    .. math:: C^2_M = \\frac{1}{12 M} + \\sum_{i=1}^{M} \\left[ (t_i / T)^{\\bar\\beta} - \\frac{2i - 1}{2M} \\right]^2

    Parameters
    ----------
    ages : sequence of float
        from 10, one more without `end` [time]
    end : float or None
        end of watching, None where it ended with the last failure [time]

    Returns
    -------
    Fit
        statistic and its limit at 10 % [-]

    Raises
    ------
    TooFew
        under 10 counted failures
    ValueError
        as of `power_law`

    References
    ----------
    MIL-HDBK-189 (1981); Crow 1975, AMSAA TR-138.

    Examples
    --------
    >>> cramer_von_mises([5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478], end=1500)
    Fit(statistic=0.0538, limit=0.167)
    """
    inner, last = counted(ages, end=end, needed=1, what="the fit of a power law")
    size = len(inner)
    at_least(LIMITS[0][0], size, "the fit of a power law")
    shape = power_law(ages, end=end).unbiased
    strays = ((age / last) ** shape - (2 * i + 1) / (2 * size) for i, age in enumerate(inner))
    statistic = 1.0 / (12.0 * size) + sum(stray * stray for stray in strays)
    return Fit(statistic, max(limit for least, limit in LIMITS if least <= size))
