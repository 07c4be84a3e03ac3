"""Superheat of the suction line, subcooling of the liquid line, and the atmospheric pressure."""

from service.domain.physics.ranges import Range
from service.domain.physics.refrigeration.refrigerants import Refrigerant
from service.domain.physics.refrigeration.saturation import STANDARD_ATMOSPHERE, bubble_temperature, dew_temperature

ELEVATION = Range("elevation above sea level", -500.0, 5000.0, "m")
LINE_TEMPERATURE = Range("line temperature", 213.15, 423.15, "K")
# Packaged chiller manual CG-SVX038A, page 39: 10 to 20 degF at the compressor; a training site: 10 to 15 degF.
USUAL_SUPERHEAT = (10.0 / 1.8, 20.0 / 1.8)  # [K]
USUAL_SUBCOOLING = (10.0 / 1.8, 15.0 / 1.8)  # [K]


def superheat(refrigerant: Refrigerant, *, suction_pressure: float, line_temperature: float) -> float:
    """Return how much warmer the suction line is than the dew temperature at the suction pressure.

    superheat = T_line - T_dew(p). Negative means liquid in the line, or a reading that is off.

    Parameters
    ----------
    refrigerant : Refrigerant
        The fluid [-].
    suction_pressure : float
        Absolute suction pressure [Pa].
    line_temperature : float
        Temperature of the suction line [K].

    Returns
    -------
    float
        Superheat [K].

    Raises
    ------
    OutOfRange
        If the pressure lies outside the saturation curve or the line outside 213.15 to 423.15 K.

    Notes
    -----
    A probe on the pipe's outside reads up to 2 K wrong unless insulated (common practice, no source).

    References
    ----------
    Packaged chiller manual CG-SVX038A, page 39 (10 to 20 degF at the compressor); saturation as `dew_temperature`.

    Examples
    --------
    >>> from service.domain.physics.refrigeration.refrigerants import refrigerant
    >>> superheat(refrigerant("R-134a"), suction_pressure=(18.43 + 14.696) * 6894.757, line_temperature=272.04) * 1.8
    10.0
    """
    return LINE_TEMPERATURE.check(line_temperature) - dew_temperature(refrigerant, suction_pressure)


def subcooling(refrigerant: Refrigerant, *, liquid_pressure: float, line_temperature: float) -> float:
    """Return how much colder the liquid line is than the bubble temperature at the head pressure.

    subcooling = T_bubble(p) - T_line. Negative means bubbles in the line, or a reading that is off.

    Parameters
    ----------
    refrigerant : Refrigerant
        The fluid [-].
    liquid_pressure : float
        Absolute pressure in the liquid line [Pa].
    line_temperature : float
        Temperature of the liquid line [K].

    Returns
    -------
    float
        Subcooling [K].

    Raises
    ------
    OutOfRange
        If the pressure lies outside the saturation curve or the line outside 213.15 to 423.15 K.

    Notes
    -----
    Taken at the discharge port the pressure is higher than in the liquid line by the condenser's own drop.

    References
    ----------
    A refrigeration training site: 10 to 15 degF; saturation as `bubble_temperature`.

    Examples
    --------
    >>> from service.domain.physics.refrigeration.refrigerants import refrigerant
    >>> subcooling(refrigerant("R-404A"), liquid_pressure=(236.76 + 14.696) * 6894.757, line_temperature=305.37) * 1.8
    10.0
    """
    return bubble_temperature(refrigerant, liquid_pressure) - LINE_TEMPERATURE.check(line_temperature)


def atmosphere_at(elevation: float) -> float:
    """Return the standard atmospheric pressure at this elevation.

    p = 101325 (1 - 0.0065 h / 288.15)^5.25588. Valid from -500 to 5000 m.

    Parameters
    ----------
    elevation : float
        Height above sea level [m].

    Returns
    -------
    float
        Atmospheric pressure [Pa].

    Raises
    ------
    OutOfRange
        If the height lies outside the range.

    Notes
    -----
    Weather moves the true value by 3 %.

    References
    ----------
    ISO 2533:1975, Standard Atmosphere, 79 495 Pa at 2000 m (from memory).

    Examples
    --------
    >>> atmosphere_at(2000.0) / 1000.0
    79.5
    """
    return float(STANDARD_ATMOSPHERE * (1.0 - 0.0065 * ELEVATION.check(elevation) / 288.15) ** 5.25588)
