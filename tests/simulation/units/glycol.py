"""Propylene and ethylene glycol in water, by mass percent.

Freezing points of propylene glycol: 2001 ASHRAE Handbook Fundamentals; of ethylene glycol: the warmer of two makers'
tables at 20, 30 and 40 %. Properties at 0 degC and the viscosity's slope: Melinder 2010. Refractometer: Lorentz-Lorenz
mixing.
"""

from itertools import pairwise
from math import exp

Points = tuple[tuple[float, float], ...]

FREEZING: dict[str, Points] = {
    "propylene": (
        (0, 0.0), (5, -1.6), (10, -3.3), (15, -5.1), (20, -7.1), (25, -9.6), (30, -12.7), (35, -16.4), (40, -21.1),
        (45, -26.7), (50, -33.5), (55, -41.6), (60, -51.1),
    ),
    "ethylene": ((0, 0.0), (10, -3.2), (20, -7.8), (30, -13.9), (40, -21.7), (50, -33.5), (60, -48.0)),
}  # fmt: skip
BRIX: Points = (
    (0, 0.0),
    (10, 7.5),
    (20, 14.79),
    (25, 18.41),
    (30, 21.97),
    (35, 25.43),
    (40, 28.78),
    (50, 34.99),
    (60, 40.39),
)
VISCOSITY: Points = (
    (0, 1.9),
    (10, 2.9),
    (20, 4.71),
    (25, 6.07),
    (30, 7.89),
    (35, 10.29),
    (40, 13.37),
    (50, 21.76),
    (60, 33.5),
)
HEAT: Points = ((0, 4.21), (20, 3.936), (30, 3.803), (40, 3.642), (50, 3.453), (60, 3.25))
DENSITY: Points = ((0, 1000.0), (20, 1020.1), (30, 1031.6), (40, 1042.4), (50, 1050.9), (60, 1057.0))
COOLER_VISCOSITY = 0.052  # relative change per K, at 35 % and about 0 degC


def between(points: Points, at: float) -> float:
    """Linear interpolation, held at both ends."""
    for (x0, y0), (x1, y1) in pairwise(points):
        if at <= x1:
            return y0 + (max(at, x0) - x0) * (y1 - y0) / (x1 - x0)
    return points[-1][1]


def freezing_point(percent: float, glycol: str = "propylene") -> float:
    """Temperature of the first crystals, degC."""
    return between(FREEZING[glycol], percent)


def brix(percent: float) -> float:
    """What a refractometer shows for a sample at 20 degC."""
    return between(BRIX, percent)


def heat_per_litre(percent: float) -> float:
    """Heat capacity of one litre, kJ/K."""
    return between(HEAT, percent) * between(DENSITY, percent) / 1000.0


def viscosity(percent: float, celsius: float) -> float:
    """Dynamic viscosity, mPa s."""
    return between(VISCOSITY, percent) * exp(-COOLER_VISCOSITY * (celsius + 2.0))
