"""Sweating: surface temperature of a bundle against the dew point of the room."""

from math import exp, log

from service.domain.physics.libraries import root
from service.domain.physics.lines.heat_gain import (
    CORE,
    FOAM_CONDUCTIVITY,
    STILL_AIR,
    THICKNESS,
    Jacket,
    air_resistance,
    film_resistance,
)
from service.domain.physics.ranges import Range

AIR = Range("air temperature", 233.15, 323.15, "K")
HUMIDITY = Range("relative humidity", 0.01, 1.0, "-")

ICE_POINT = 273.15
MAGNUS_PRESSURE, MAGNUS_SLOPE, MAGNUS_BASE = 610.94, 17.625, 243.04


def vapour_pressure(temperature: float) -> float:
    """Find the saturation pressure of water vapour over liquid water.

    .. math:: p = 610.94 \\exp(17.625 t / (t + 243.04)), t in degC

    Parameters
    ----------
    temperature : float
        temperature of air, 233.15 to 323.15 [K]

    Returns
    -------
    float
        saturation pressure [Pa]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    Magnus form, within 0.4 % over its range. Over liquid water also below 0 degC, as dew points are stated.

    References
    ----------
    O. A. Alduchov, R. E. Eskridge, "Improved Magnus Form Approximation of Saturation Vapor Pressure",
    J. Appl. Meteorology 35 (1996) 601-609, eq. (21) (coefficients from memory, checked against IAPWS values).

    Examples
    --------
    Steam tables give 2339 Pa at 20 degC.

    >>> vapour_pressure(293.15)
    2333.
    """
    celsius = AIR.check(temperature) - ICE_POINT
    return MAGNUS_PRESSURE * exp(MAGNUS_SLOPE * celsius / (celsius + MAGNUS_BASE))


def dew_point(*, air: float, relative_humidity: float) -> float:
    """Find the dew point of room air, the inverse of `vapour_pressure`.

    .. math:: t_d = 243.04 g / (17.625 - g), g = \\ln(\\phi p(t) / 610.94)

    Parameters
    ----------
    air : float
        air temperature, 233.15 to 323.15 [K]
    relative_humidity : float
        relative humidity, 0.01 to 1 [-]

    Returns
    -------
    float
        dew point [K]

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    Within 0.1 K of the dew point of the full equation of state between 0 and 50 degC above 20 % humidity; a
    hygrometer's 3 % humidity is worth about 0.7 K.

    References
    ----------
    O. A. Alduchov, R. E. Eskridge, J. Appl. Meteorology 35 (1996) 601-609.

    Examples
    --------
    75 degF and 50 %, 55.1 degF by the psychrometric chart (from memory):

    >>> dew_point(air=297.04, relative_humidity=0.5)
    285.98
    """
    partial = HUMIDITY.check(relative_humidity) * vapour_pressure(air)
    exponent = log(partial / MAGNUS_PRESSURE)
    return ICE_POINT + MAGNUS_BASE * exponent / (MAGNUS_SLOPE - exponent)


def surface_temperature(jacket: Jacket, *, air: float, core: float, coefficient: float = STILL_AIR) -> float:
    """Find the surface temperature of a bundle.

    .. math:: T_s = T_a - (T_a - T_c) R'_{film} / R'

    Parameters
    ----------
    jacket : Jacket
        core diameter, insulation thickness and conductivity [m, m, W/(m K)]
    air : float
        air temperature, 233.15 to 323.15 [K]
    core : float
        the bundle's core, 233.15 to 333.15 [K]
    coefficient : float
        surface coefficient, 0.5 to 1e5 [W/(m2 K)]

    Returns
    -------
    float
        surface temperature [K]; it sweats below the air's dew point

    Raises
    ------
    OutOfRange
        outside these limits

    Notes
    -----
    Dry, whole insulation. A seam or a bare fitting sweats long before. Where condensation sets in, its latent heat
    adds to the gain, which this leaves out.

    References
    ----------
    National Institute of Building Sciences, *Mechanical Insulation Design Guide*, Design Data.

    Examples
    --------
    A 2 in core at 30 degF under 1 in of foam in 75 degF air is 70.6 degF outside:

    >>> surface_temperature(Jacket(0.0508, 0.0254, 0.03606), air=297.04, core=272.04, coefficient=9.369)
    294.6
    """
    AIR.check(air)
    CORE.check(core)
    film = film_resistance(diameter=jacket.outer_diameter, coefficient=coefficient)
    return air - (air - core) * film / air_resistance(jacket, coefficient)


def dry_thickness(
    core_diameter: float,
    *,
    air: float,
    core: float,
    dew: float,
    conductivity: float = FOAM_CONDUCTIVITY,
    coefficient: float = STILL_AIR,
) -> float:
    """Find the least insulation that keeps the surface from sweating: where `surface_temperature` is the dew point.

    .. math:: T_s(thickness) = T_{dew}

    Parameters
    ----------
    core_diameter : float
        diameter of the bundle's core, 0.001 to 2 [m]
    air : float
        air temperature, 233.15 to 323.15 [K]
    core : float
        the bundle's core, 233.15 to 333.15 [K]
    dew : float
        dew point of the air [K]
    conductivity : float
        of the insulation, 0.005 to 500 [W/(m K)]
    coefficient : float
        surface coefficient, 0.5 to 1e5 [W/(m2 K)]

    Returns
    -------
    float
        thickness [m]; 0 where even the bare core stays dry

    Raises
    ------
    OutOfRange
        outside these limits; a dew point that 0.5 m of insulation does not reach

    Notes
    -----
    No margin is included; rounding the dew point to 0.1 K moves it by 0.5 mm here.

    References
    ----------
    National Institute of Building Sciences, *Mechanical Insulation Design Guide*, Design Data.

    Examples
    --------
    >>> dry_thickness(0.0508, air=297.04, core=272.04, dew=294.6, conductivity=0.03606, coefficient=9.369)
    0.026
    """

    def excess(thickness: float) -> float:
        jacket = Jacket(core_diameter, thickness, conductivity)
        return surface_temperature(jacket, air=air, core=core, coefficient=coefficient) - dew

    Range("dew point", 193.15, dew + excess(THICKNESS.high), "K").check(dew)
    return 0.0 if excess(0.0) >= 0.0 else root(excess, THICKNESS.low, THICKNESS.high)
