"""The verdict on a pull-down, and when to measure again."""

from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

from service.domain.physics.bath.pull_down import BATH, SURE, PullDown, final_temperature, time_to
from service.domain.physics.ranges import Range, above, below

NO_CHANGE_AFTER = 600.0
"""[s]: no noticeable change in 10 min reads as not cooling (common practice, no source)."""
NOTICEABLE = 0.56
"""[K]: 1 degF, a division of a dial thermometer (common practice, no source)."""
TRADE_RATE = 20.0 / 1.8 / 1200.0
"""[K/s]: 20 degF in 20 min, with a warm bath (common practice, no source)."""
FULL_POWER_BATH = 283.15
"""[K]: 50 degF, the bath from which on the trade's rate holds (judged)."""
FAIR_SHARE = 0.6
"""[-]: of the power or rate expected; less is slow. Judged: thermometer, volume and rating are each good to 15 %."""
DIFFERENTIAL = 4.0 / 1.8
"""[K]: 4 degF between stop and start of the refrigeration (common practice, no source)."""

SHORTEST_WAIT, LONGEST_WAIT, SLOW_WAIT = 120.0, 1800.0, 900.0  # [s], judged

SHARE = Range("share of the rated cooling", -100.0, 100.0, "-")


class Verdict(StrEnum):
    """The verdict on a bath."""

    RECOVERING = "recovering"
    SLOW = "slow"
    NOT_COOLING = "not_cooling"
    TOO_EARLY = "too_early"


class Because(StrEnum):
    """The rule that decided."""

    AT_SET_POINT = "at_set_point"
    SHORT_AND_UNCHANGED = "short_and_unchanged"
    NO_NOTICEABLE_CHANGE = "no_noticeable_change"
    WARMING = "warming"
    ENDS_ABOVE_SET_POINT = "ends_above_set_point"
    SHARE_OF_RATING = "share_of_rating"
    TRADE_RATE = "trade_rate"


@dataclass(frozen=True, slots=True)
class Judgement:
    """The verdict, the rule that decided, and the share of the expected power [-] where it was calculated."""

    verdict: Verdict
    because: Because
    share: float | None = None


def judge_pull_down(
    fit: PullDown,
    *,
    set_point: float,
    share: float | None = None,
    differential: float = DIFFERENTIAL,
    worth: float = 1.0,
) -> Judgement:
    """Judge a pull-down.

    .. math:: drop = T_{first} - T_{last}, share = P / P_{expected}

    In this order: within the differential of the set point is recovering; no noticeable drop is too early to judge
    within 10 min and not cooling after; a final temperature surely above the set point's band is slow; then 0.6 of
    the power expected of the rating, or without it of 20 degF in 20 min times `worth`, parts
    recovering from slow.

    Parameters
    ----------
    fit : PullDown
        as `fit_pull_down` finds it [K, K/s, 1/s, s]
    set_point : float
        of the bath, 233.15 to 333.15 [K]
    share : float or None
        cooling power over the rating's worth at this bath, -100 to 100; None where either isn't known [-]
    differential : float
        of the controller, 0 to 20 [K]
    worth : float
        capacity at the mean bath over that at 50 degF, 0.1 to 3, by which the trade's rate is taken [-]

    Returns
    -------
    Judgement
        verdict, the rule behind it, share [-]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    Noticeable is 1 degF or twice what the two thermometer readings can be apart by chance, whichever is more.

    References
    ----------
    None: common practice, no source.

    Examples
    --------
    From 80 to 60 degF in 20 min with the set point at 28 degF; no change in 10 min:

    >>> from service.domain.physics.bath.pull_down import fit_pull_down
    >>> judge_pull_down(fit_pull_down([0.0, 1200.0], [299.82, 288.71]), set_point=270.93).verdict
    <Verdict.RECOVERING: 'recovering'>
    >>> judge_pull_down(fit_pull_down([0.0, 600.0], [299.82, 299.82]), set_point=270.93).verdict
    <Verdict.NOT_COOLING: 'not_cooling'>
    """
    band = BATH.check(set_point) + Range("differential", 0.0, 20.0, "K", "temperature_difference").check(differential)
    drop, seen = fit.start - fit.last, noticeable_change(fit.thermometer)
    if not above(fit.last, band):
        return Judgement(Verdict.RECOVERING, Because.AT_SET_POINT, share)
    if not above(drop, -seen):
        return Judgement(Verdict.NOT_COOLING, Because.WARMING, share)
    if below(drop, seen) and below(fit.elapsed, NO_CHANGE_AFTER):
        return Judgement(Verdict.TOO_EARLY, Because.SHORT_AND_UNCHANGED, share)
    if below(drop, seen):
        return Judgement(Verdict.NOT_COOLING, Because.NO_NOTICEABLE_CHANGE, share)
    return _judge_speed(fit, band, share, worth)


def noticeable_change(thermometer: float) -> float:
    """Find the least change of a bath that two readings can show.

    .. math:: \\Delta T = \\max(1 degF, 2 \\sqrt 2 u)

    Parameters
    ----------
    thermometer : float
        standard uncertainty of one reading, 0.01 to 5 [K]

    Returns
    -------
    float
        change [K]

    Raises
    ------
    OutOfRange
        outside these limits

    References
    ----------
    JCGM 100:2008 (GUM), section 5.1.2, uncertainty of a difference (from memory).

    Examples
    --------
    >>> noticeable_change(0.3)
    0.849
    """
    Range("uncertainty of the thermometer", 0.01, 5.0, "K", "temperature_difference").check(thermometer)
    return max(NOTICEABLE, SURE * sqrt(2.0) * thermometer)


def wait_before_measuring(fit: PullDown, judgement: Judgement, *, set_point: float) -> float:
    """Find how long to wait until the next useful bath temperature.

    .. math:: t = t_{set point} | 10 min - elapsed | 15 min | 0

    Recovering: until the set point, at most half an hour. Too early: until 10 min are full, at least 2. Slow: 15 min.
    Not cooling: do not wait, look for the cause.

    Parameters
    ----------
    fit : PullDown
        as `fit_pull_down` finds it [K, K/s, 1/s, s]
    judgement : Judgement
        as `judge_pull_down` finds it [-]
    set_point : float
        of the bath, 233.15 to 333.15 [K]

    Returns
    -------
    float
        time after the last reading [s]

    Raises
    ------
    OutOfRange
        outside these limits

    References
    ----------
    None: common practice, no source.

    Examples
    --------
    >>> from service.domain.physics.bath.pull_down import fit_pull_down
    >>> fit = fit_pull_down([0.0, 300.0], [299.82, 299.82])
    >>> wait_before_measuring(fit, judge_pull_down(fit, set_point=270.93), set_point=270.93)
    300.0
    """
    left = time_to(fit, set_point).value
    waits = {
        Verdict.RECOVERING: 0.0 if left == 0.0 else min(max(left, SHORTEST_WAIT), LONGEST_WAIT),
        Verdict.TOO_EARLY: max(NO_CHANGE_AFTER - fit.elapsed, SHORTEST_WAIT),
        Verdict.SLOW: SLOW_WAIT,
        Verdict.NOT_COOLING: 0.0,
    }
    return waits[judgement.verdict]


def _judge_speed(fit: PullDown, band: float, share: float | None, worth: float) -> Judgement:
    """Judge a bath that is certainly cooling: by its final temperature, then by its rate."""
    final = final_temperature(fit)
    if final is not None and final.value - SURE * final.uncertainty > band:
        return Judgement(Verdict.SLOW, Because.ENDS_ABOVE_SET_POINT, share)
    rule = Because.TRADE_RATE if share is None else Because.SHARE_OF_RATING
    usual = TRADE_RATE * Range("worth of the capacity", 0.1, 3.0, "-").check(worth)
    reached = fit.mean_rate.value / usual if share is None else SHARE.check(share)
    return Judgement(Verdict.RECOVERING if not below(reached, FAIR_SHARE) else Verdict.SLOW, rule, reached)
