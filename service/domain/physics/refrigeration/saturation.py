"""Saturation of refrigerants: pressure and temperature at dew and bubble, gauge pressure, superheat, subcooling.

CoolProp's equations of state are asked once per fluid on a grid of 2 K; between the points a cubic spline of ln p over
1/T follows them to 1e-6 of the pressure. That is quick, needs no lock, and bridges the few points where the solver for
a blend does not converge.
"""

from functools import lru_cache
from math import exp, log
from typing import Any

from service.domain.physics.libraries import coolprop, coolprop_lock
from service.domain.physics.ranges import Range
from service.domain.physics.refrigeration.refrigerants import Refrigerant

STANDARD_ATMOSPHERE = 101325.0  # [Pa]
COLDEST = 213.15  # [K] -60 degC: at 0 psi R-455A, with the widest glide, has its bubble at -52 degC
GRID_STEP = 2.0  # [K]
MARGIN = 3  # [-] grid steps beyond either end
DEW, BUBBLE = 1, 0
ATMOSPHERE = Range("atmospheric pressure", 50_000.0, 110_000.0, "Pa")
GAUGE_LIMIT = 6.0e6  # [Pa] beyond any gauge set on these units


@lru_cache(maxsize=128)
def _spline(fluid: str, quality: int, hottest: float) -> Any:
    """Return ln p [Pa] as a spline of -1/T [1/K], a margin wider than the range answered."""
    from scipy.interpolate import CubicSpline  # type: ignore[import-untyped]  # scipy ships no types

    steps = range(-MARGIN, round((hottest - COLDEST) / GRID_STEP) + MARGIN + 1)
    points = {}
    with coolprop_lock:
        library = coolprop()
        state = library.AbstractState("HEOS", fluid)
        for temperature in (COLDEST + GRID_STEP * step for step in steps):
            try:
                state.update(library.QT_INPUTS, quality, temperature)
            except ValueError:  # the solver for blends fails at single points; the spline bridges them
                continue
            points[temperature] = log(state.p())
    return CubicSpline([-1.0 / each for each in points], list(points.values()), extrapolate=False)


def _log_pressure(refrigerant: Refrigerant, temperature: float, quality: int) -> float:
    return float(_spline(refrigerant.fluid, quality, refrigerant.hottest)(-1.0 / temperature))


def _pressure(refrigerant: Refrigerant, temperature: float, quality: int) -> float:
    limits = Range("saturation temperature", COLDEST, refrigerant.hottest, "K", detail=f"of {refrigerant.name}")
    limits.check(temperature)
    return exp(_log_pressure(refrigerant, temperature, quality))


@lru_cache(maxsize=128)
def _pressures(refrigerant: Refrigerant, quality: int) -> Range:
    low, high = (_pressure(refrigerant, end, quality) for end in (COLDEST, refrigerant.hottest))
    return Range("saturation pressure", low, high, "Pa", detail=f"of {refrigerant.name}")


@lru_cache(maxsize=4096)
def _temperature(refrigerant: Refrigerant, pressure: float, quality: int) -> float:
    _pressures(refrigerant, quality).check(pressure)
    return -1.0 / float(_spline(refrigerant.fluid, quality, refrigerant.hottest).solve(log(pressure))[0])


def dew_pressure(refrigerant: Refrigerant, temperature: float) -> float:
    """Return the absolute pressure at which the last drop evaporates at this temperature.

    p = p_sat(T, quality 1), from the fluid's equation of state. Valid from 213.15 K to the refrigerant's `hottest`.

    Parameters
    ----------
    refrigerant : Refrigerant
        The fluid [-].
    temperature : float
        Dew temperature [K].

    Returns
    -------
    float
        Absolute pressure [Pa].

    Raises
    ------
    OutOfRange
        If the temperature lies outside the curve.

    Notes
    -----
    Within 0.2 psi of a printed chart that cites NIST REFPROP, 0 to 130 degF.

    References
    ----------
    Bell et al., Ind. Eng. Chem. Res. 53 (2014) 2498-2508 (CoolProp 8.0.0); check value: R-134a pressure-temperature
    chart citing NIST REFPROP, 100 degF = 124.2 psig.

    Examples
    --------
    >>> from service.domain.physics.refrigeration.refrigerants import refrigerant
    >>> gauge_pressure(dew_pressure(refrigerant("R-134a"), 310.9278)) / 6894.757
    124.2
    """
    return _pressure(refrigerant, temperature, DEW)


def bubble_pressure(refrigerant: Refrigerant, temperature: float) -> float:
    """Return the absolute pressure at which the first bubble forms at this temperature.

    p = p_sat(T, quality 0), from the fluid's equation of state. Valid from 213.15 K to the refrigerant's `hottest`.

    Parameters
    ----------
    refrigerant : Refrigerant
        The fluid [-].
    temperature : float
        Bubble temperature [K].

    Returns
    -------
    float
        Absolute pressure [Pa].

    Raises
    ------
    OutOfRange
        If the temperature lies outside the curve.

    Notes
    -----
    Within 0.2 psi of a printed chart that cites NIST REFPROP, 0 to 40 degF.

    References
    ----------
    Bell et al., Ind. Eng. Chem. Res. 53 (2014) 2498-2508 (CoolProp 8.0.0); check value: R-404A pressure-temperature
    chart citing NIST REFPROP, bubble at 20 degF = 56.6 psig.

    Examples
    --------
    >>> from service.domain.physics.refrigeration.refrigerants import refrigerant
    >>> gauge_pressure(bubble_pressure(refrigerant("R-404A"), 266.4833)) / 6894.757
    56.6
    """
    return _pressure(refrigerant, temperature, BUBBLE)


def dew_temperature(refrigerant: Refrigerant, pressure: float) -> float:
    """Return the temperature at which the last drop evaporates at this absolute pressure.

    The inverse of `dew_pressure`; this is the evaporating temperature from which superheat counts.

    Parameters
    ----------
    refrigerant : Refrigerant
        The fluid [-].
    pressure : float
        Absolute pressure [Pa].

    Returns
    -------
    float
        Dew temperature [K].

    Raises
    ------
    OutOfRange
        If the pressure lies outside the curve.

    Notes
    -----
    A gauge that is 1 psi off shifts R-134a at 20 degF by some 0.8 K.

    References
    ----------
    Bell et al. (2014), as for `dew_pressure`; check value: R-134a chart citing NIST REFPROP, 18.4 psig = 20 degF.

    Examples
    --------
    >>> from service.domain.physics.refrigeration.refrigerants import refrigerant
    >>> dew_temperature(refrigerant("R-134a"), absolute_pressure(18.4 * 6894.757)) * 1.8 - 459.67
    20.0
    """
    return _temperature(refrigerant, pressure, DEW)


def bubble_temperature(refrigerant: Refrigerant, pressure: float) -> float:
    """Return the temperature at which the first bubble forms at this absolute pressure.

    The inverse of `bubble_pressure`; this is the condensing temperature from which subcooling and split count.

    Parameters
    ----------
    refrigerant : Refrigerant
        The fluid [-].
    pressure : float
        Absolute pressure [Pa].

    Returns
    -------
    float
        Bubble temperature [K].

    Raises
    ------
    OutOfRange
        If the pressure lies outside the curve.

    Notes
    -----
    Blends with glide have two temperatures at one pressure: R-448A and R-449A some 6 K apart.

    References
    ----------
    Bell et al. (2014), as for `bubble_pressure`; check value: R-404A chart, liquid at 85 degF = 189.5 psig.

    Examples
    --------
    >>> from service.domain.physics.refrigeration.refrigerants import refrigerant
    >>> bubble_temperature(refrigerant("R-404A"), absolute_pressure(189.5 * 6894.757)) * 1.8 - 459.67
    85.0
    """
    return _temperature(refrigerant, pressure, BUBBLE)


def absolute_pressure(gauge: float, *, atmosphere: float = STANDARD_ATMOSPHERE) -> float:
    """Return the absolute pressure of a gauge reading.

    p = p_gauge + p_atmosphere. Valid from full vacuum to 6 MPa gauge.

    Parameters
    ----------
    gauge : float
        Pressure above the atmosphere [Pa].
    atmosphere : float
        Atmospheric pressure at the site [Pa].

    Returns
    -------
    float
        Absolute pressure [Pa].

    Raises
    ------
    OutOfRange
        If either lies outside its range.

    Notes
    -----
    A dial gauge set to zero at the site reads true above the site's own atmosphere: at 1600 m that is 2.6 psi less
    than the standard one, which shifts R-134a at 20 degF by some 2 K.

    References
    ----------
    ISO 2533:1975, Standard Atmosphere: 101325 Pa at sea level.

    Examples
    --------
    >>> absolute_pressure(0.0)
    101325.0
    """
    ATMOSPHERE.check(atmosphere)
    return Range("gauge pressure", -atmosphere, GAUGE_LIMIT, "Pa").check(gauge) + atmosphere


def gauge_pressure(absolute: float, *, atmosphere: float = STANDARD_ATMOSPHERE) -> float:
    """Return what a gauge shows at this absolute pressure.

    p_gauge = p - p_atmosphere. Valid from 0 to 6 MPa above the atmosphere.

    Parameters
    ----------
    absolute : float
        Absolute pressure [Pa].
    atmosphere : float
        Atmospheric pressure at the site [Pa].

    Returns
    -------
    float
        Pressure above the atmosphere [Pa].

    Raises
    ------
    OutOfRange
        If either lies outside its range.

    References
    ----------
    ISO 2533:1975, Standard Atmosphere: 101325 Pa at sea level.

    Examples
    --------
    >>> gauge_pressure(101325.0)
    0.0
    """
    ATMOSPHERE.check(atmosphere)
    return Range("absolute pressure", 0.0, GAUGE_LIMIT + atmosphere, "Pa").check(absolute) - atmosphere
