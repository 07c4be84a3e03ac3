"""Freezing points of ethylene glycol, from a table."""

ETHYLENE_FREEZES = (
    (0.00, 0.0), (0.05, -1.4), (0.10, -3.2), (0.15, -5.4), (0.20, -7.8), (0.25, -10.7), (0.30, -14.1), (0.35, -17.9),
    (0.40, -22.3), (0.45, -27.5), (0.50, -33.8), (0.55, -41.1), (0.60, -48.3),
)  # fmt: skip
"""Mass fraction [kg/kg] and freezing point [°C] of ethylene glycol: ASHRAE Handbook of Fundamentals, 2001."""


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
    """
    last = len(ETHYLENE_FREEZES) - 1
    step = next((n for n in range(1, last) if ETHYLENE_FREEZES[n][0] >= mass_fraction), last)
    (low, warm), (high, cold) = ETHYLENE_FREEZES[step - 1], ETHYLENE_FREEZES[step]
    return warm + (cold - warm) * (mass_fraction - low) / (high - low)
