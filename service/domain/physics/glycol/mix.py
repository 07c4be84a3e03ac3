"""Correcting the strength: how much to drain, how much to pour in, and the effect of a top-up.

Volumes in the bath and loop are at the bath's temperature; the fluid poured in is at 20 °C, as in the drum.
"""

from dataclasses import dataclass

from service.domain.physics.glycol.fractions import PURE_DENSITY
from service.domain.physics.glycol.properties import ROOM, STRENGTH, Glycol, density
from service.domain.physics.ranges import Range

VOLUME = Range("volume of bath and loop", 1e-3, 10.0, "m3")
POURED = Range("volume poured in", 0.0, 10.0, "m3")
STRENGTH_POURED = Range("strength of the fluid poured in", 0.0, 1.0, "kg/kg")


@dataclass(frozen=True, slots=True)
class Correction:
    """How to bring a bath to its target: drain [m3], pour in [m3, at 20 °C], and the volume then [m3]."""

    drain: float
    pour_in: float
    volume: float


def poured_density(mass_fraction: float) -> float:
    """
    Return the density at 20 °C of what is poured in: water, a ready mixture, or concentrate.

        rho = P(w, 20 °C) up to 0.6,    then straight to that of pure propylene glycol, 1036.1

    Parameters
    ----------
    mass_fraction : float
        Mass of propylene glycol in the mass of what is poured in, 0 to 1, [kg/kg]

    Returns
    -------
    float
        Density, [kg/m^3]

    Raises
    ------
    OutOfRange
        A mass fraction below 0 or above 1.

    Notes
    -----
    Above 0.6 within 0.5 %: the true curve passes through a low maximum there (from memory).

    References
    ----------
    .. [1] Å. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIF-IIR, 2010, as in CoolProp.
    .. [2] CRC Handbook of Chemistry and Physics: density of propylene glycol (from memory).

    Examples
    --------
    >>> poured_density(1.0)
    1036.1
    """
    STRENGTH_POURED.check(mass_fraction)
    if mass_fraction <= STRENGTH.high:
        return density(mass_fraction=mass_fraction, temperature=ROOM)
    strongest = density(mass_fraction=STRENGTH.high, temperature=ROOM)
    share = (mass_fraction - STRENGTH.high) / (1.0 - STRENGTH.high)
    return strongest + share * (PURE_DENSITY[Glycol.PROPYLENE] - strongest)


def _check_reachable(*, present: float, target: float, poured: float) -> None:
    """Raise OutOfRange unless the target is between the present strength and that of the fluid poured in."""
    STRENGTH_POURED.check(poured)
    if target > present:
        Range("strength of the fluid poured in", target, 1.0, "kg/kg", detail="to strengthen").check(poured)
    elif target < present:
        Range("strength of the fluid poured in", 0.0, target, "kg/kg", detail="to dilute").check(poured)


def correction(
    *, volume: float, capacity: float, temperature: float, present: float, target: float, poured: float
) -> Correction:
    """
    Return how much to drain and how much to pour in for the target strength, draining only for want of room.

        with room:  m_in = m (w_t - w) / (w_in - w_t)
        without:    m_end = V_cap rho(w_t, T),  m_in = m_end (w_t - w) / (w_in - w),  m_drain = m + m_in - m_end

    Parameters
    ----------
    volume : float
        Glycol now in bath and loop, 0.001 to 10, [m^3]
    capacity : float
        What bath and loop may hold at the proper level, `volume` to 10, [m^3]
    temperature : float
        Temperature of the bath, [K]
    present : float
        Strength now, mass fraction 0 to 0.6, [kg/kg]
    target : float
        Strength wanted, mass fraction 0 to 0.6, [kg/kg]
    poured : float
        Strength of what is poured in: 1 pure concentrate, 0 water, [kg/kg]

    Returns
    -------
    Correction
        Volume to drain first, volume to pour in, volume afterwards, [m^3]

    Raises
    ------
    OutOfRange
        A value outside its range, a capacity below the volume, a bath so cold that one of the strengths would freeze,
        or a fluid that cannot bring the target (too weak to strengthen, too strong to dilute).

    Notes
    -----
    An exact balance of masses; the volumes are as good as the densities, 0.7 %. Mix well between draining and
    measuring again. Dispose of used glycol by the local rules, never down a drain by default.

    References
    ----------
    .. [1] Conservation of mass. With equal densities and pure concentrate the second form is the trade's
       V = V_system (c_t - c) / (1 - c).

    Examples
    --------
    38 L at 25 % and 28 °F, full, to 35 %: drain 4.7 L, pour in 5.1 L of concentrate, which shrinks in the mixing.

    >>> full = correction(volume=0.038, capacity=0.038, temperature=270.93, present=0.25, target=0.35, poured=1.0)
    >>> full.drain, full.pour_in
    (0.00469, 0.00508)
    """
    VOLUME.check(volume)
    Range("capacity of bath and loop", volume, VOLUME.high, "m3").check(capacity)
    mass = volume * density(mass_fraction=present, temperature=temperature)
    density_then = density(mass_fraction=target, temperature=temperature)
    _check_reachable(present=present, target=target, poured=poured)
    if present == target:
        return Correction(drain=0.0, pour_in=0.0, volume=volume)
    if poured != target:
        added = mass * (target - present) / (poured - target)
        volume_then = (mass + added) / density_then
        if volume_then <= capacity:
            return Correction(drain=0.0, pour_in=added / poured_density(poured), volume=volume_then)
    mass_then = capacity * density_then
    added = mass_then * (target - present) / (poured - present)
    drained = (mass + added - mass_then) * volume / mass
    return Correction(drain=drained, pour_in=added / poured_density(poured), volume=capacity)


def strength_after_pouring(
    *, volume: float, temperature: float, present: float, poured_volume: float, poured: float
) -> float:
    """
    Return the strength that a top-up leaves.

        w = (m w_0 + m_in w_in) / (m + m_in)

    Parameters
    ----------
    volume : float
        Glycol in bath and loop before, 0.001 to 10, [m^3]
    temperature : float
        Temperature of the bath, [K]
    present : float
        Strength before, mass fraction 0 to 0.6, [kg/kg]
    poured_volume : float
        What is poured in, at 20 °C, 0 to 10, [m^3]
    poured : float
        Its strength: 0 water, 1 pure concentrate, [kg/kg]

    Returns
    -------
    float
        Strength afterwards, mass fraction, [kg/kg]

    Raises
    ------
    OutOfRange
        A value outside its range, or a bath below its freezing point.

    Notes
    -----
    An exact balance of masses. Water lost by evaporation may be topped up with water; glycol lost by a leak may not.

    References
    ----------
    .. [1] Conservation of mass.

    Examples
    --------
    32 L at 35 %, topped up with 6 L of water:

    >>> strength_after_pouring(volume=0.032, temperature=270.93, present=0.35, poured_volume=0.006, poured=0.0)
    0.297
    """
    mass = VOLUME.check(volume) * density(mass_fraction=present, temperature=temperature)
    added = POURED.check(poured_volume) * poured_density(poured)
    return (mass * present + added * poured) / (mass + added)
