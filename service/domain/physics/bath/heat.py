"""The heat in a bath: heat capacity, heat removed and cooling power."""

from service.domain.physics.bath.pull_down import BATH
from service.domain.physics.ranges import Range

METAL_SPECIFIC_HEAT = 480.0
"""[J/(kg K)]: stainless steel; copper has 385 (from memory)."""

HEAT_CAPACITY = Range("heat capacity of the bath", 100.0, 1e9, "J/K")


def bath_heat_capacity(
    *,
    glycol_volume: float,
    density: float,
    specific_heat: float,
    metal_mass: float = 0.0,
    metal_specific_heat: float = METAL_SPECIFIC_HEAT,
) -> float:
    """Find the heat capacity of a bath with its loop and its metal.

    .. math:: C = V \\rho c_p + m_{metal} c_{metal}

    Parameters
    ----------
    glycol_volume : float
        bath and loop together, 1e-4 to 10 [m3]
    density : float
        of the glycol, 950 to 1150 [kg/m3]
    specific_heat : float
        of the glycol, 2000 to 4300 [J/(kg K)]
    metal_mass : float
        tank, coil and pump that cool with it, 0 to 1e4 [kg]
    metal_specific_heat : float
        100 to 1000 [J/(kg K)]

    Returns
    -------
    float
        heat capacity [J/K]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    Ice in the bath would hold much more; a bath with ice has a strength problem first.

    References
    ----------
    None: the definition of specific heat.

    Examples
    --------
    38 L of 35 % propylene glycol and 15 kg of stainless steel:

    >>> bath_heat_capacity(glycol_volume=0.038, density=1037.1, specific_heat=3725.9, metal_mass=15.0)
    154037.
    """
    Range("volume of glycol", 1e-4, 10.0, "m3").check(glycol_volume)
    Range("density of glycol", 950.0, 1150.0, "kg/m3").check(density)
    Range("specific heat of glycol", 2000.0, 4300.0, "J/(kg K)").check(specific_heat)
    Range("mass of metal", 0.0, 1e4, "kg").check(metal_mass)
    Range("specific heat of metal", 100.0, 1000.0, "J/(kg K)").check(metal_specific_heat)
    return glycol_volume * density * specific_heat + metal_mass * metal_specific_heat


def heat_removed(*, heat_capacity: float, start: float, end: float) -> float:
    """Find the heat removed from a bath; negative where it has warmed.

    .. math:: Q = C (T_1 - T_2)

    Parameters
    ----------
    heat_capacity : float
        as `bath_heat_capacity` finds it, 100 to 1e9 [J/K]
    start : float
        bath at first, 233.15 to 333.15 [K]
    end : float
        bath at last, 233.15 to 333.15 [K]

    Returns
    -------
    float
        heat [J]

    Raises
    ------
    OutOfRange
        outside these limits

    References
    ----------
    None: the definition of specific heat.

    Examples
    --------
    >>> heat_removed(heat_capacity=154038.0, start=299.817, end=288.706)
    1711516.
    """
    return HEAT_CAPACITY.check(heat_capacity) * (BATH.check(start) - BATH.check(end))


def cooling_power(*, heat_capacity: float, rate: float, load: float = 0.0) -> float:
    """Find the cooling power on a bath: the heat that it loses plus the load.

    .. math:: P = C \\dot T + P_{load}

    Parameters
    ----------
    heat_capacity : float
        as `bath_heat_capacity` finds it, 100 to 1e9 [J/K]
    rate : float
        cooling rate, negative where it warms, -0.1 to 0.1 [K/s]
    load : float
        heat that trunk, pump and pours bring in, 0 to 1e5 [W]

    Returns
    -------
    float
        power [W]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    Where the load isn't known the answer is a lower limit.

    References
    ----------
    None: the balance of heat.

    Examples
    --------
    20 degF in 20 min, no load:

    >>> cooling_power(heat_capacity=154038.0, rate=11.111 / 1200)
    1426.
    """
    Range("cooling rate", -0.1, 0.1, "K/s").check(rate)
    Range("load", 0.0, 1e5, "W").check(load)
    return HEAT_CAPACITY.check(heat_capacity) * rate + load
