"""Properties of glycol and water: freezing point, density, viscosity, specific heat, conductivity.

Every strength here is a mass fraction; drums are marked by volume, refractometers in Brix (`glycol_strength`).
"""

from enum import StrEnum
from functools import lru_cache

from service.domain.physics.glycol.ethylene import ethylene_freezes
from service.domain.physics.glycol.melinder import ETHYLENE, PROPYLENE, Melinder
from service.domain.physics.libraries import root
from service.domain.physics.ranges import Range


class Glycol(StrEnum):
    """The two glycols in use. Ethylene glycol is poisonous: it is recognised, but never recommended near beer."""

    PROPYLENE = "propylene"
    ETHYLENE = "ethylene"


STRENGTH = Range("glycol mass fraction", 0.0, 0.6, "kg/kg")
HOTTEST = 373.15  # K
ICE_POINT = 273.15  # K
ROOM = 293.15  # K: 20 °C, at which drums and refractometers are spoken of
_EQUATIONS = {Glycol.PROPYLENE: PROPYLENE, Glycol.ETHYLENE: ETHYLENE}


def _liquid(mass_fraction: float, temperature: float, glycol: Glycol) -> Melinder:
    """Return the equations of the liquid; OutOfRange outside the strengths and temperatures of the data."""
    freezing = freezing_point(mass_fraction, glycol)
    Range("temperature of the liquid", freezing, HOTTEST, "K").check(temperature)
    return _EQUATIONS[glycol]


@lru_cache(maxsize=1024)
def freezing_point(mass_fraction: float, glycol: Glycol = Glycol.PROPYLENE) -> float:
    """
    Return the temperature at which the first ice forms in the solution on slow cooling.

        T_f = P(w), a polynomial in the mass fraction w, fitted by Melinder [1]_ for propylene glycol; for ethylene
        glycol the table in [2]_, linear between its strengths

    Parameters
    ----------
    mass_fraction : float
        Mass of glycol in the mass of solution, 0 to 0.6, [kg/kg]
    glycol : Glycol
        Propylene or ethylene glycol, [-]

    Returns
    -------
    float
        Freezing point, [K]

    Raises
    ------
    OutOfRange
        A mass fraction below 0 or above 0.6.

    Notes
    -----
    Against the table in [2]_: within 0.5 K up to 35 %, 1.5 K up to 55 %; inhibitors lower it a little, the safe side.
    Melinder's polynomial for ethylene glycol, up to 2.9 K colder (the unsafe side), is not used.

    References
    ----------
    .. [1] Å. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIF-IIR, 2010, as in CoolProp.
    .. [2] ASHRAE Handbook of Fundamentals, 2001, freezing points of aqueous solutions of propylene glycol and of
       ethylene glycol, as transcribed in CoolProp's data files.

    Examples
    --------
    The table in [2]_ has -12.7 °C for 30 mass %, the equation -12.789 °C:

    >>> freezing_point(0.30) - 273.15
    -12.789
    """
    STRENGTH.check(mass_fraction)
    equation = _EQUATIONS[glycol].freezes(mass_fraction)  # for plain water 0.3 mK above the table's 0 °C
    return max(equation, ICE_POINT + ethylene_freezes(mass_fraction)) if glycol is Glycol.ETHYLENE else equation


def strength_at_freezing_point(temperature: float, glycol: Glycol = Glycol.PROPYLENE) -> float:
    """
    Return the strength that freezes at a temperature: a freezing-point scale read backwards, or what a coil needs.

        w such that T_f(w) = T

    Parameters
    ----------
    temperature : float
        Freezing point, as read on a refractometer's scale for this glycol or as wanted, [K]
    glycol : Glycol
        Propylene or ethylene glycol, [-]

    Returns
    -------
    float
        Mass of glycol in the mass of solution, [kg/kg]

    Raises
    ------
    OutOfRange
        A temperature above the freezing point of water or below that of the strongest solution (0.6).

    Notes
    -----
    Also the strength of the liquid left over between ice crystals at that temperature. 0.5 K of error at 35 % is 0.7
    points of strength. The scale must be the one of this glycol (ASTM D3321): the other one reads wrong.

    References
    ----------
    .. [1] Å. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIF-IIR, 2010, as in CoolProp.

    Examples
    --------
    A coil at 15 °F needs:

    >>> strength_at_freezing_point((15.0 + 459.67) / 1.8)
    0.2438
    """
    strongest, water = freezing_point(STRENGTH.high, glycol), freezing_point(STRENGTH.low, glycol)
    Range("freezing point", strongest, max(water, ICE_POINT), "K").check(temperature)
    if temperature >= water:
        return STRENGTH.low
    return root(lambda w: freezing_point(w, glycol) - temperature, STRENGTH.low, STRENGTH.high)


def density(*, mass_fraction: float, temperature: float, glycol: Glycol = Glycol.PROPYLENE) -> float:
    """
    Return the density of the liquid.

        rho = P(w, T), a polynomial fitted by Melinder [1]_

    Parameters
    ----------
    mass_fraction : float
        Mass of glycol in the mass of solution, 0 to 0.6, [kg/kg]
    temperature : float
        Temperature of the liquid, from its freezing point to 373.15, [K]
    glycol : Glycol
        Propylene or ethylene glycol, [-]

    Returns
    -------
    float
        Density, [kg/m^3]

    Raises
    ------
    OutOfRange
        A strength outside the data, or a temperature below the freezing point or above 100 °C.

    Notes
    -----
    Within 0.7 % of the table for inhibited propylene glycol in [2]_. Density is no test of strength: it passes through
    a maximum, so that two strengths share one density.

    References
    ----------
    .. [1] Å. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIF-IIR, 2010, as in CoolProp.
    .. [2] ASHRAE Handbook of Fundamentals, 2001, density of aqueous solutions of inhibited propylene glycol.

    Examples
    --------
    >>> density(mass_fraction=0.35, temperature=273.15)
    1037.1
    """
    liquid = _liquid(mass_fraction, temperature, glycol)
    return liquid.value(liquid.density, mass_fraction, temperature)


def specific_heat(*, mass_fraction: float, temperature: float, glycol: Glycol = Glycol.PROPYLENE) -> float:
    """
    Return the heat that warms one kilogram of the liquid by one kelvin.

        cp = P(w, T), a polynomial fitted by Melinder [1]_

    Parameters
    ----------
    mass_fraction : float
        Mass of glycol in the mass of solution, 0 to 0.6, [kg/kg]
    temperature : float
        Temperature of the liquid, from its freezing point to 373.15, [K]
    glycol : Glycol
        Propylene or ethylene glycol, [-]

    Returns
    -------
    float
        Specific heat at constant pressure, [J/(kg*K)]

    Raises
    ------
    OutOfRange
        A strength outside the data, or a temperature below the freezing point or above 100 °C.

    Notes
    -----
    Within 1 % of the table for inhibited propylene glycol in [2]_.

    References
    ----------
    .. [1] Å. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIF-IIR, 2010, as in CoolProp.
    .. [2] ASHRAE Handbook of Fundamentals, 2001, specific heat of aqueous solutions of inhibited propylene glycol.

    Examples
    --------
    >>> specific_heat(mass_fraction=0.35, temperature=273.15)
    3725.9
    """
    liquid = _liquid(mass_fraction, temperature, glycol)
    return liquid.value(liquid.specific_heat, mass_fraction, temperature)


def viscosity(*, mass_fraction: float, temperature: float, glycol: Glycol = Glycol.PROPYLENE) -> float:
    """
    Return the dynamic viscosity of the liquid.

        ln mu = P(w, T), a polynomial fitted by Melinder [1]_

    Parameters
    ----------
    mass_fraction : float
        Mass of glycol in the mass of solution, 0 to 0.6, [kg/kg]
    temperature : float
        Temperature of the liquid, from its freezing point to 373.15, [K]
    glycol : Glycol
        Propylene or ethylene glycol, [-]

    Returns
    -------
    float
        Dynamic viscosity, [Pa*s]

    Raises
    ------
    OutOfRange
        A strength outside the data, or a temperature below the freezing point or above 100 °C.

    Notes
    -----
    Within 13 % of the table for inhibited propylene glycol in [2]_. At 28 °F a strength of 55 % is 2.6 times as viscous
    as one of 35 %.

    References
    ----------
    .. [1] Å. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIF-IIR, 2010, as in CoolProp.
    .. [2] ASHRAE Handbook of Fundamentals, 2001, viscosity of aqueous solutions of inhibited propylene glycol.

    Examples
    --------
    >>> viscosity(mass_fraction=0.35, temperature=273.15)
    0.009212
    """
    return _liquid(mass_fraction, temperature, glycol).viscous(mass_fraction, temperature)


def conductivity(*, mass_fraction: float, temperature: float, glycol: Glycol = Glycol.PROPYLENE) -> float:
    """
    Return the thermal conductivity of the liquid.

        k = P(w, T), a polynomial fitted by Melinder [1]_

    Parameters
    ----------
    mass_fraction : float
        Mass of glycol in the mass of solution, 0 to 0.6, [kg/kg]
    temperature : float
        Temperature of the liquid, from its freezing point to 373.15, [K]
    glycol : Glycol
        Propylene or ethylene glycol, [-]

    Returns
    -------
    float
        Thermal conductivity, [W/(m*K)]

    Raises
    ------
    OutOfRange
        A strength outside the data, or a temperature below the freezing point or above 100 °C.

    Notes
    -----
    Within 3 % of the table for inhibited propylene glycol in [2]_.

    References
    ----------
    .. [1] Å. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIF-IIR, 2010, as in CoolProp.
    .. [2] ASHRAE Handbook of Fundamentals, 2001, conductivity of aqueous solutions of inhibited propylene glycol.

    Examples
    --------
    >>> conductivity(mass_fraction=0.35, temperature=273.15)
    0.4079
    """
    liquid = _liquid(mass_fraction, temperature, glycol)
    return liquid.value(liquid.conductivity, mass_fraction, temperature)
