"""Checks of the glycol: ice, freeze margin, too weak, too strong, wrong kind."""

from dataclasses import dataclass

from service.domain.physics.glycol.properties import (
    HOTTEST,
    STRENGTH,
    Glycol,
    freezing_point,
    strength_at_freezing_point,
)
from service.domain.physics.ranges import Range

LEAST_MARGIN = 5.0 / 1.8  # K: 5 °F below the lowest exposed temperature, by an article on testing glycol in HVAC
COIL_BELOW_BATH = 15.0 / 1.8  # K: a chiller maker's answer has the coil at 10 to 15 °F in a bath at 25 °F
WEAKEST_KEEPING = 0.25  # three glycol and service sources: biostatic from 25 %, fouls below 20 %
STRONGEST_USEFUL = 0.50  # common practice, no source; the trade guides say only "too strong"


@dataclass(frozen=True, slots=True)
class GlycolWarning:
    """A warning about the glycol itself: code, reason and source."""

    code: str
    reason: str
    source: str


ETHYLENE = GlycolWarning(
    "ethylene_glycol",
    "Ethylene glycol is poisonous and not food grade; it must not be used near beer. A leak into a line can kill.",
    "21 CFR 184.1666 affirms propylene glycol only; glycol makers' statements on ethylene glycol",
)
WEAK = GlycolWarning(
    "glycol_weak",
    "Below 25 % by mass ice can form on the coil and block the flow, and growth and corrosion are not prevented.",
    "Three glycol and service articles: fouls below 20 %, uncertain to 25 %; inhibitors are made for 25 to 60 %",
)
STRONG = GlycolWarning(
    "glycol_strong",
    "Above 50 % by mass the glycol is too viscous and carries too little heat for good flow and cooling.",
    "A trade guide, without a figure; the limit of 50 % is common practice, no source",
)


def glycol_warnings(mass_fraction: float, glycol: Glycol = Glycol.PROPYLENE) -> tuple[GlycolWarning, ...]:
    """
    Return the warnings about the glycol by its kind and strength, regardless of temperatures.

        weak: w < 0.25,    strong: w > 0.50,    ethylene glycol: always

    Parameters
    ----------
    mass_fraction : float
        Mass of glycol in the mass of solution, 0 to 0.6, [kg/kg]
    glycol : Glycol
        Propylene or ethylene glycol, [-]

    Returns
    -------
    tuple of GlycolWarning
        most urgent first; empty when all is well [-]

    Raises
    ------
    OutOfRange
        A mass fraction below 0 or above 0.6.

    Notes
    -----
    Exactly 25 % is not weak, exactly 50 % not strong. Whether the coil can freeze is `freeze_margin`'s matter.

    References
    ----------
    .. [1] Glycol makers' and HVAC service articles on least strength; the upper limit is common practice, no source.

    Examples
    --------
    >>> [warning.code for warning in glycol_warnings(0.20)]
    ['glycol_weak']
    """
    STRENGTH.check(mass_fraction)
    found = (
        (ETHYLENE, glycol is Glycol.ETHYLENE),
        (WEAK, mass_fraction < WEAKEST_KEEPING),
        (STRONG, mass_fraction > STRONGEST_USEFUL),
    )
    return tuple(warning for warning, applies in found if applies)


def ice_fraction(*, mass_fraction: float, temperature: float, glycol: Glycol = Glycol.PROPYLENE) -> float:
    """
    Return how much of the solution, by mass, is ice at a temperature.

        x = 1 - w / w_eq(T), the lever rule, w_eq the strength that freezes at T;    0 above the freezing point

    Parameters
    ----------
    mass_fraction : float
        Mass of glycol in the mass of everything, ice included, 0 to 0.6, [kg/kg]
    temperature : float
        Temperature of liquid and ice, [K]
    glycol : Glycol
        Propylene or ethylene glycol, [-]

    Returns
    -------
    float
        Mass of ice in the mass of everything, [kg/kg]

    Raises
    ------
    OutOfRange
        A strength outside 0 to 0.6, or a temperature below the freezing point of the strongest or above 100 °C.

    Notes
    -----
    At equilibrium, all ice being pure water. A bath may stay liquid a few kelvin colder before the first ice forms.

    References
    ----------
    .. [1] Å. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIF-IIR, 2010: freezing points.
    .. [2] The lever rule of any text on phase diagrams.

    Examples
    --------
    >>> ice_fraction(mass_fraction=0.20, temperature=263.15)
    0.212
    """
    Range("temperature", freezing_point(STRENGTH.high, glycol), HOTTEST, "K").check(temperature)
    if temperature >= freezing_point(mass_fraction, glycol):
        return 0.0
    # Just below the freezing point the two strengths differ in the last digit only, to either side.
    return max(0.0, 1.0 - mass_fraction / strength_at_freezing_point(temperature, glycol))


def freeze_margin(*, mass_fraction: float, coldest_surface: float, glycol: Glycol = Glycol.PROPYLENE) -> float:
    """
    Return how far the coldest surface that the glycol touches stays above its freezing point.

        margin = T_surface - T_f(w)

    Parameters
    ----------
    mass_fraction : float
        Mass of glycol in the mass of solution, 0 to 0.6, [kg/kg]
    coldest_surface : float
        Temperature of the evaporator (not of the bath), 200 to 373.15, [K]
    glycol : Glycol
        Propylene or ethylene glycol, [-]

    Returns
    -------
    float
        Margin, below zero when ice can form on the surface, [K]

    Raises
    ------
    OutOfRange
        A strength outside 0 to 0.6, or a surface outside 200 to 373.15 K.

    Notes
    -----
    The saturated suction temperature is a safe stand-in for the surface. Keep 5 °F (2.8 K, `LEAST_MARGIN`) or more.

    References
    ----------
    .. [1] A chiller maker's answer to a question: protect for the coil, at 10 to 15 °F in a bath at 25 °F.
    .. [2] An article on testing glycol in HVAC: at least 5 °F below the lowest exposed temperature.

    Examples
    --------
    One part of glycol in three by volume freezes at 3.8 °F and so leaves a coil at 10 °F 6.2 °F, or 3.5 K:

    >>> freeze_margin(mass_fraction=0.3417, coldest_surface=260.93)
    3.5
    """
    Range("temperature of the coldest surface", 200.0, HOTTEST, "K").check(coldest_surface)
    return coldest_surface - freezing_point(mass_fraction, glycol)


def estimated_coil_temperature(bath_temperature: float) -> float:
    """
    Return how cold the evaporator may be when only the bath was measured.

        T_coil = T_bath - 15 °F

    Parameters
    ----------
    bath_temperature : float
        Temperature of the bath, 240 to 320, [K]

    Returns
    -------
    float
        Coldest temperature to expect of the coil's surface, [K]

    Raises
    ------
    OutOfRange
        A bath outside 240 to 320 K.

    Notes
    -----
    The colder end of the one published pair (10 to 15 °F below the bath). A measured suction pressure is better.

    References
    ----------
    .. [1] A chiller maker's answer to a question: the coil at 10 to 15 °F in a bath at 25 °F.

    Examples
    --------
    A bath at 25 °F (269.26 K): the coil at 10 °F.

    >>> estimated_coil_temperature(269.26)
    260.93
    """
    Range("bath temperature", 240.0, 320.0, "K").check(bath_temperature)
    return bath_temperature - COIL_BELOW_BATH
