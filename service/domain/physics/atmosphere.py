"""The pressure of the air at a height over the sea, to which a gauge compares."""

from service.domain.physics.ranges import Range

ELEVATION = Range("elevation", -500.0, 5000.0, "m")


def atmospheric_pressure(elevation: float) -> float:
    """Return the usual pressure of the air at this height.

    p = 101325 (1 - 2.25577e-5 h)^5.25588. Valid from -500 to 5000 m.

    Parameters
    ----------
    elevation : float
        Height over the sea [m].

    Returns
    -------
    float
        Pressure [Pa].

    Raises
    ------
    OutOfRange
        If the height lies outside its range.

    Notes
    -----
    Weather moves it by 2 % either way.

    References
    ----------
    U.S. Standard Atmosphere 1976, troposphere, in the form of ASHRAE Handbook of Fundamentals, psychrometrics.
    Check value: 5280 ft, 12.10 psia (a table in a refrigeration reference).

    Examples
    --------
    >>> atmospheric_pressure(1609.344) / 6894.757
    12.10
    """
    return float(101325.0 * (1.0 - 2.25577e-5 * ELEVATION.check(elevation)) ** 5.25588)
