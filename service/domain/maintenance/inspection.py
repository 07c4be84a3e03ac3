"""How often to look: intervals for finding what has failed unseen, and for catching a failure while it develops.

They tell whether an interval of the catalogue is short enough for what a record shows.
"""

from math import log

from service.domain.physics.ranges import Range

UNAVAILABILITY = Range("unavailability tolerated", 1e-6, 0.1, "-")
TIME = Range("time", 1e-6, 1e6, "d")
CHANCE = Range("probability", 1e-9, 1.0 - 1e-9, "-")


def failure_finding_interval(unavailability: float, mean_time: float) -> float:
    """Return the longest interval between checks of a device whose failure shows only when it is needed.

    .. math:: I = 2 U M

    Parameters
    ----------
    unavailability : float
        Share of the time in which the device may be failed without anybody knowing [-], at most 0.1.
    mean_time : float
        Mean time between failures of the device [d].

    Returns
    -------
    float
        Interval [d].

    Notes
    -----
    Linear for small unavailability: above 5 % it is some per cent too long.

    References
    ----------
    .. [1] J. Moubray, Reliability-centred Maintenance (RCM II), 2nd ed., 1997, failure-finding intervals.

    Examples
    --------
    >>> failure_finding_interval(0.01, 10 * 365.25)
    73.05
    """
    return 2.0 * UNAVAILABILITY.check(unavailability) * TIME.check(mean_time)


def inspections_needed(*, accepted: float, detection: float) -> float:
    """Return how many inspections must fall within the time in which a failure develops.

    .. math:: n = \\ln P_{acc} / \\ln(1 - \\theta)

    Parameters
    ----------
    accepted : float
        Probability of missing the failure that is accepted [-].
    detection : float
        Probability that one inspection finds it [-].

    Returns
    -------
    float
        Number of inspections [-]; the interval is the time of development divided by it.

    References
    ----------
    .. [1] NAVAIR 00-25-403, Guidelines for the Naval Aviation Reliability-Centered Maintenance Process.

    Examples
    --------
    >>> inspections_needed(accepted=0.01, detection=0.9)
    2.0
    """
    return log(CHANCE.check(accepted)) / log(1.0 - CHANCE.check(detection))
