"""Whether to connect gauges: the share of the charge that the hoses hold, and the use of the readings."""

from enum import StrEnum
from math import pi

from service.domain.physics.bath.pull_down_verdict import Verdict
from service.domain.physics.ranges import Range

HOSE_LENGTH = 1.524
"""[m]: 60 in, the common hose (common practice, no source)."""
HOSE_BORE = 0.005
"""[m]: bore of a 1/4 in charging hose (from memory)."""

HARMLESS_SHARE = 0.01
"""[-]: of the charge; more is felt by a capillary system (judged, no source)."""
TOO_LARGE_SHARE = 0.05
"""[-]: of the charge; with more gone the unit isn't the one that was to be measured (judged, no source)."""


class Gauges(StrEnum):
    """What to do about gauges."""

    NOT_NEEDED = "not_needed"
    LEAVE_OFF = "leave_off"
    LAST_RESORT = "last_resort"
    CONNECT = "connect"


def hose_charge(*, density: float, hoses: int = 1, length: float = HOSE_LENGTH, bore: float = HOSE_BORE) -> float:
    """Find how much refrigerant a hose set holds when it is taken off.

    .. math:: m = n \\rho \\pi b^2 L / 4

    Parameters
    ----------
    density : float
        refrigerant in the hose, 0.1 to 2000: vapour at the suction pressure, at the pressure of the unit at rest,
        or liquid on a high-side port [kg/m3]
    hoses : int
        hoses that stand under that pressure, 1 to 4 [-]
    length : float
        of one hose, 0.1 to 5 [m]
    bore : float
        of a hose, 0.001 to 0.02 [m]

    Returns
    -------
    float
        mass [kg]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    Each connection takes as much again. A low-loss fitting keeps it in the hose, not in the unit.

    References
    ----------
    None: a cylinder.

    Examples
    --------
    R-134a: vapour of 11.3 kg/m3 (20 degF), and liquid of 1150 kg/m3 (100 degF), in grams:

    >>> hose_charge(density=11.3) * 1000
    0.34
    >>> hose_charge(density=1150.0) * 1000
    34.4
    """
    Range("density of the refrigerant", 0.1, 2000.0, "kg/m3").check(density)
    Range("number of hoses", 1, 4, "-").check(hoses)
    Range("length of a hose", 0.1, 5.0, "m").check(length)
    Range("bore of a hose", 1e-3, 0.02, "m").check(bore)
    return hoses * density * pi * bore**2 / 4.0 * length


def share_of_charge(*, held: float, charge: float) -> float:
    """Find what share of a unit's charge a hose set holds.

    .. math:: s = m / M

    Parameters
    ----------
    held : float
        as `hose_charge` finds it, 0 to 5 [kg]
    charge : float
        of the unit, 0.01 to 100 [kg]

    Returns
    -------
    float
        share; more than 1 where the hoses could swallow it all [-]

    Raises
    ------
    OutOfRange
        outside these limits

    References
    ----------
    None: a ratio.

    Examples
    --------
    A liquid-filled hose on a unit with 300 g:

    >>> share_of_charge(held=0.0344, charge=0.3)
    0.115
    """
    return Range("refrigerant in the hoses", 0.0, 5.0, "kg").check(held) / Range("charge", 0.01, 100.0, "kg").check(
        charge
    )


def advise_gauges(*, verdict: Verdict, share: float, capillary: bool, low_side_only: bool) -> Gauges:
    """Decide whether to connect gauges.

    .. math:: s > 0.05: leave off; low side only, or a capillary and s > 0.01: last resort; else connect

    Parameters
    ----------
    verdict : Verdict
        of the pull-down; gauges are not needed while it recovers or it is too early to judge [-]
    share : float
        of the charge that the hoses would hold, 0 to 100 [-]
    capillary : bool
        whether a capillary meters the refrigerant, so that the charge itself sets the superheat [-]
    low_side_only : bool
        whether only the low side has a port, so that neither split nor subcooling can be read [-]

    Returns
    -------
    Gauges
        not needed, leave off (recover and weigh instead), last resort (temperatures, currents, air and frost first),
        or connect [-]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    Low suction pressure alone fits too little charge, a blocked capillary and too little glycol flow alike.
    Whoever connects needs the certification that local law asks for.

    References
    ----------
    None: common practice, no source.

    Examples
    --------
    >>> advise_gauges(verdict=Verdict.SLOW, share=0.001, capillary=True, low_side_only=True)
    <Gauges.LAST_RESORT: 'last_resort'>
    """
    Range("share of the charge", 0.0, 100.0, "-").check(share)
    if verdict in (Verdict.RECOVERING, Verdict.TOO_EARLY):
        return Gauges.NOT_NEEDED
    if share > TOO_LARGE_SHARE:
        return Gauges.LEAVE_OFF
    if low_side_only or (capillary and share > HARMLESS_SHARE):
        return Gauges.LAST_RESORT
    return Gauges.CONNECT
