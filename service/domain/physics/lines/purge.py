"""Purging warm beer: volume, cost, and whether waiting for the glycol is cheaper."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import inf

from service.domain.physics.lines.heat_gain import CORE
from service.domain.physics.ranges import Range

OUNCE = 2.95735296e-5
PITCHER = 60 * OUNCE
"""[m3]: 60 US fl oz, common practice, no source."""
GLASS = 16 * OUNCE
"""[m3]: a US pint."""
POUR_RATE = 2 * OUNCE
"""[m3/s]: 2 fl oz/s, a pint in 8 s (course notes; beer-system technician manual, p. 17)."""

VOLUME = Range("volume", 0.0, 10.0, "m3")
MONEY = Range("money", 0.0, 1e9, "-")


class Action(StrEnum):
    """What to do about warm lines."""

    PURGE = "purge"
    WAIT = "wait"
    NEITHER = "neither"


class Reason(StrEnum):
    """The reason for the action."""

    CHEAPER = "cheaper"
    LINES_ARE_COLD = "lines_are_cold"
    GLYCOL_NEVER_COOLS_IT = "glycol_never_cools_it"
    POURS_WARM_AGAIN = "pours_warm_again"


@dataclass(frozen=True, slots=True)
class Purge:
    """Beer to purge at each tap and in total [m3], as pitchers and as glasses [-], the time it takes [s]."""

    volumes: tuple[float, ...]
    volume: float
    pitchers: float
    glasses: float
    seconds: float


@dataclass(frozen=True, slots=True)
class Choice:
    """The recommendation with the figures of both ways: cost in the currency given, time [s]."""

    action: Action
    reason: Reason
    purge_cost: float
    wait_cost: float
    purge_seconds: float
    wait_seconds: float


def warm_glasses(temperatures: Sequence[float], limit: float) -> int:
    """Count the glasses to purge: all up to the last one that is warmer than allowed.

    .. math:: n = \\max \\{ i : T_i > T_{limit} \\}

    Parameters
    ----------
    temperatures : sequence of float
        of the glasses in the order poured, as `pour_after_standstill` finds them [K]
    limit : float
        warmest glass allowed, 233.15 to 333.15 [K]

    Returns
    -------
    int
        glasses to run off; as many as were looked at where the last is still warm [-]

    Raises
    ------
    OutOfRange
        outside these limits

    References
    ----------
    None: a count.

    Examples
    --------
    >>> warm_glasses([288.0, 287.0, 280.0, 276.0, 275.5], 276.5)
    3
    """
    CORE.check(limit)
    return max((number for number, glass in enumerate(temperatures, 1) if CORE.check(glass) > limit), default=0)


def purge(
    volumes: Sequence[float], *, pitcher: float = PITCHER, glass: float = GLASS, flow: float = POUR_RATE
) -> Purge:
    """Add up the beer to purge at each tap.

    .. math:: V = \\sum V_i, t = V / Q

    Parameters
    ----------
    volumes : sequence of float
        warm beer in each line: its whole volume, or the warm glasses', each 0 to 10 [m3]
    pitcher : float
        1e-4 to 0.01 [m3]
    glass : float
        1e-5 to 0.01 [m3]
    flow : float
        pour rate, 1e-6 to 0.001 [m3/s]

    Returns
    -------
    Purge
        in all, as pitchers and glasses, and the time for one person, tap after tap [m3, -, -, s]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    Plug flow: a line is clear when its volume has run off, within a few per cent. Foam runs longer.

    References
    ----------
    None: sums. Common practice, no source: two to three 60 fl oz pitchers clear 160 to 250 ft of 3/8 in line.

    Examples
    --------
    Four taps with 200 ft of 3/8 in line (0.75 fl oz a foot) each:

    >>> purge([4.44e-3] * 4).pitchers
    10.0
    """
    Range("volume of a pitcher", 1e-4, 0.01, "m3").check(pitcher)
    Range("volume of a glass", 1e-5, 0.01, "m3").check(glass)
    Range("pour rate", 1e-6, 1e-3, "m3/s").check(flow)
    volume = sum(VOLUME.check(volume) for volume in volumes)
    return Purge(tuple(volumes), volume, volume / pitcher, volume / glass, volume / flow)


def purge_or_wait(cleared: Purge, *, beer_price: float, wait: float, sales: float, stays_cold: bool) -> Choice:
    """Compare purging the warm beer with waiting until the glycol has cooled it in the lines.

    .. math:: K_{purge} = V p + t_{purge} s, \\quad K_{wait} = t_{wait} s

    Parameters
    ----------
    cleared : Purge
        what has to run off and how long that takes [m3, s]
    beer_price : float
        what the beer costs the house, 0 to 1e9 [money/m3]
    wait : float
        time until the glycol has cooled the lines; infinite where it never does [s]
    sales : float
        earned on draught beer while taps pour, 0 while the house is closed, to 1e9 [money/s]
    stays_cold : bool
        whether beer from the keg now arrives cold, as the tenth glass shows [-]

    Returns
    -------
    Choice
        purge, wait or neither, why, and both costs and times [money, s]

    Raises
    ------
    OutOfRange
        outside these limits; NaN

    Notes
    -----
    Purging does not help where the next beer warms again on its way: then wait, or repair where waiting does not help
    either. With sales of 0 waiting costs nothing. At equal cost the beer is kept.

    References
    ----------
    None: common practice, no source.

    Examples
    --------
    17.7 L at 2 a litre against an hour of 40 an hour:

    >>> purge_or_wait(purge([4.44e-3] * 4), beer_price=2000.0, wait=3600.0, sales=0.0111, stays_cold=True).action
    <Action.PURGE: 'purge'>
    """
    MONEY.check(beer_price)
    MONEY.check(sales)
    Range("time to wait", 0.0, inf, "s").check(wait)
    purge_cost = cleared.volume * beer_price + cleared.seconds * sales
    wait_cost = wait * sales if sales > 0.0 else 0.0
    action, reason = _choose(cleared.volume, purge_cost, wait, wait_cost, stays_cold=stays_cold)
    return Choice(action, reason, purge_cost, wait_cost, cleared.seconds, wait)


def _choose(
    volume: float, purge_cost: float, wait: float, wait_cost: float, *, stays_cold: bool
) -> tuple[Action, Reason]:
    """Return what to do and why."""
    if volume == 0.0 or wait == 0.0:
        return Action.NEITHER, Reason.LINES_ARE_COLD
    if wait == inf:
        return (Action.PURGE if stays_cold else Action.NEITHER), Reason.GLYCOL_NEVER_COOLS_IT
    if not stays_cold:
        return Action.WAIT, Reason.POURS_WARM_AGAIN
    return (Action.PURGE if purge_cost < wait_cost else Action.WAIT), Reason.CHEAPER
