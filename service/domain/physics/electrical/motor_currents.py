"""Motor currents: full-load and locked-rotor tables for single phase, overload and thermal protector percentages.

The tables size conductors and switches and show whether a nameplate is plausible; the overload is set by the nameplate.
NEC texts as read in the 1999 and 2008 editions: the edition adopted locally applies.
"""

from service.domain.physics.ranges import OutOfRange, Range

HORSEPOWER = 745.699872  # [W]
RATED_POWER = Range("rated motor power", 124.0, 2238.0, "W")
CURRENT = Range("current", 0.0, 1000.0, "A")
RATED_CURRENT = Range("rated current", 0.01, 1000.0, "A")
LOCKED_ROTOR_FACTOR = 6.0  # [-] EC&M 2023: starting surge typically six or more times running current

# NEC Table 430.248, rows in hp, amperes by rated motor voltage.
TABLE_POWER = (1 / 6, 1 / 4, 1 / 3, 1 / 2, 3 / 4, 1.0, 1.5, 2.0, 3.0)
TABLE_CURRENT = {
    115: (4.4, 5.8, 7.2, 9.8, 13.8, 16.0, 20.0, 24.0, 34.0),
    208: (2.4, 3.2, 4.0, 5.4, 7.6, 8.8, 11.0, 13.2, 18.7),
    230: (2.2, 2.9, 3.6, 4.9, 6.9, 8.0, 10.0, 12.0, 17.0),
}
# The tables serve system voltages of 110 to 120 and 220 to 240 V; 200 to 216 V taken for the 208 V column.
COLUMNS = (
    (115, Range("rated voltage", 110.0, 120.0, "V")),
    (208, Range("rated voltage", 200.0, 216.0, "V")),
    (230, Range("rated voltage", 220.0, 240.0, "V")),
)


def _column(voltage: float) -> tuple[float, ...]:
    for rated, band in COLUMNS:
        if band.low <= voltage <= band.high:
            return TABLE_CURRENT[rated]
    nearest = min((band for _, band in COLUMNS), key=lambda band: abs(voltage - (band.low + band.high) / 2))
    raise OutOfRange(nearest, voltage)


def full_load_current(*, rated_power: float, rated_voltage: float) -> float:
    """Return the table full-load current of a single-phase motor.

    Straight line between the rows of the table. Valid from 1/6 to 3 hp at 110-120, 200-216 or 220-240 V.

    Parameters
    ----------
    rated_power : float
        Shaft power on the nameplate [W].
    rated_voltage : float
        Voltage on the nameplate [V].

    Returns
    -------
    float
        Full-load current [A].

    Raises
    ------
    OutOfRange
        If power or voltage lies outside the table.

    Notes
    -----
    The table is on the high side: nameplates of good motors lie 10 to 40 % lower, those of small shaded-pole fans
    and of hermetic compressors follow no horsepower at all.

    References
    ----------
    NEC (NFPA 70) Table 430.248 (430-148 in 1999, unchanged in 2008); 430.6(A) for its use.

    Examples
    --------
    >>> full_load_current(rated_power=0.25 * 745.7, rated_voltage=115.0)
    5.8
    """
    power = RATED_POWER.check(rated_power) / HORSEPOWER
    currents = _column(rated_voltage)
    for row in range(1, len(TABLE_POWER)):
        if power <= TABLE_POWER[row] or row == len(TABLE_POWER) - 1:
            break
    share = (power - TABLE_POWER[row - 1]) / (TABLE_POWER[row] - TABLE_POWER[row - 1])
    return currents[row - 1] + min(max(share, 0.0), 1.0) * (currents[row] - currents[row - 1])


def current_share(current: float, *, rated: float) -> float:
    """Return the current as a share of its rating; above 1 is above the nameplate.

    share = I / I_rated. Valid for currents of 0 to 1000 A.

    Parameters
    ----------
    current : float
        Current measured [A].
    rated : float
        Nameplate current [A].

    Returns
    -------
    float
        Share of the rating [-].

    Raises
    ------
    OutOfRange
        If a current lies outside its range.

    Notes
    -----
    A clamp meter reads 2 to 3 % off, more below 1 A (common practice, no source).

    References
    ----------
    Every motor under its nameplate amps: common practice, no source.

    Examples
    --------
    >>> current_share(6.09, rated=5.8)
    1.05
    """
    return CURRENT.check(current) / RATED_CURRENT.check(rated)
