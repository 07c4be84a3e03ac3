"""Freezing points of ethylene glycol, from a table."""

BELOW_20 = ((0.00, 0.0), (0.05, -1.4), (0.10, -3.2), (0.15, -5.4))
FROM_20 = (
    -7.8, -8.4, -8.9, -9.5, -10.2, -10.7, -11.4, -12.0, -12.7, -13.3,
    -14.1, -14.8, -15.4, -16.2, -17.0, -17.9, -18.6, -19.4, -20.3, -21.3,
    -22.3, -23.2, -24.3, -25.3, -26.4, -27.5, -28.8, -29.8, -31.1, -32.6,
    -33.8, -35.1, -36.4, -37.9, -39.3, -41.1, -42.6, -44.2, -45.6, -47.1, -48.3,
)  # fmt: skip
"""Freezing points [°C] at 20, 21, ... 60 mass %."""
ETHYLENE_FREEZES = (*BELOW_20, *((percent / 100.0, celsius) for percent, celsius in enumerate(FROM_20, start=20)))
"""Mass fraction [kg/kg] and freezing point [°C] of ethylene glycol: every row of the handbook's table up to 60 %."""


def ethylene_freezes(mass_fraction: float) -> float:
    """
    Return the freezing point of ethylene glycol in water, linear between the strengths of the table.

    Parameters
    ----------
    mass_fraction : float
        Mass of ethylene glycol per mass of solution, 0 to 0.6 [kg/kg].

    Returns
    -------
    float
        Freezing point [°C].

    Notes
    -----
    The curve bends downwards, so a straight line between two rows is colder than the curve: by about 0.05 K where the
    rows are 5 points apart (below 20 %), and by less than the table's last digit where they are 1 point apart.

    References
    ----------
    .. [1] ASHRAE Handbook of Fundamentals, 2001, freezing points of aqueous solutions of ethylene glycol, as
       transcribed in CoolProp's data files.

    Examples
    --------
    Two rows of [1]_ are 33 mass %, -16.2 °C, and 34 mass %, -17.0 °C:

    >>> ethylene_freezes(0.335)
    -16.6
    """
    last = len(ETHYLENE_FREEZES) - 1
    step = next((n for n in range(1, last) if ETHYLENE_FREEZES[n][0] >= mass_fraction), last)
    (low, warm), (high, cold) = ETHYLENE_FREEZES[step - 1], ETHYLENE_FREEZES[step]
    return warm + (cold - warm) * (mass_fraction - low) / (high - low)
