"""Melinder's polynomials for glycol in water, evaluated here: importing CoolProp for them takes a second and a half.

Å. Melinder, Properties of Secondary Working Fluids for Indirect Systems, IIF-IIR, 2010; the coefficients are those of
CoolProp 8.0.0 (INCOMP::MPG and INCOMP::MEG), the library by which the tests check every value.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp

Rows = Sequence[Sequence[float]]


@dataclass(frozen=True, slots=True)
class Melinder:
    """Coefficients of one glycol: of T - `temperature` by row, of w - `strength` by column; the viscosity's logarithm.

    T is in K, w the mass fraction in kg/kg; the values are in SI.
    """

    temperature: float
    strength: float
    freezing_point: Sequence[float]
    density: Rows
    specific_heat: Rows
    conductivity: Rows
    viscosity: Rows

    def freezes(self, mass_fraction: float) -> float:
        """The freezing point [K]."""
        return _polynomial(self.freezing_point, mass_fraction - self.strength)

    def value(self, rows: Rows, mass_fraction: float, temperature: float) -> float:
        """The value of a polynomial of this glycol in both."""
        apart = mass_fraction - self.strength
        return _polynomial([_polynomial(row, apart) for row in rows], temperature - self.temperature)

    def viscous(self, mass_fraction: float, temperature: float) -> float:
        """The dynamic viscosity [Pa*s]."""
        return exp(self.value(self.viscosity, mass_fraction, temperature))


def _polynomial(coefficients: Sequence[float], x: float) -> float:
    value = 0.0
    for coefficient in reversed(coefficients):
        value = value * x + coefficient
    return value


PROPYLENE = Melinder(
    temperature=305.8583,
    strength=0.307031,
    freezing_point=(259.9, -66.31, -109.4, -228.3, -340.9, 146.5),
    density=(
        (1018.0, 76.04, -24.98, -155.0, -113.1, 234.2),
        (-0.5406, -0.945, 0.27, 2.829, -2.221),
        (-0.002666, 0.005541, -0.004018, -0.007175),
        (1.347e-05, -1.343e-05, 3.376e-05),
    ),
    specific_heat=(
        (3882.0, -1304.0, -1598.0, 353.9, 5000.0, -4959.0),
        (2.699, 5.07, 0.9534, 31.02, -71.35),
        (-0.001659, -0.004752, 0.1167, -0.295),
        (-1.032e-05, 0.0001522, -0.000487),
    ),
    conductivity=(
        (0.4513, -0.4795, 0.2076, -0.09083, -0.05952, 0.2104),
        (0.0007955, -0.001678, 0.001563, -0.002518, -0.003605),
        (3.482e-08, 8.941e-06, -4.615e-05, 6.543e-05),
        (-5.966e-09, 1.493e-08, 9.897e-08),
    ),
    viscosity=(
        (-6.224055, 3.328, 0.5453, -3.9, -1.587, 35.64),
        (-0.03045, -0.03984, -0.00086, 0.1054, 0.04475),
        (0.0002525, 0.0004332, -0.0001593, -0.001589),
        (-1.399e-06, -1.86e-06, -4.465e-07),
    ),
)
ETHYLENE = Melinder(
    temperature=304.878,
    strength=0.308462,
    freezing_point=(257.9, -80.8, -133.4, -72.93, 100.6, 11.4),
    density=(
        (1034.0, 131.1, 0.749, -106.2, -96.23, 489.1),
        (-0.4781, -0.6876, 0.7855, 1.229, -7.211),
        (-0.002692, 0.004805, -0.003995, -0.01153),
        (4.725e-06, 1.69e-06, 4.982e-05),
    ),
    specific_heat=(
        (3737.0, -1799.0, -993.3, 2610.0, 1537.0, -16180.0),
        (2.93, 10.46, 3.516, -1.189, -42.72),
        (-0.004675, -0.04147, 0.05109, -0.1643),
        (-1.389e-05, 1.847e-05, -0.0007138),
    ),
    conductivity=(
        (0.472, -0.4286, 0.1747, 0.03017, -0.1322, 0.2678),
        (0.0008903, -0.001473, 0.0006814, -0.002412, 0.002555),
        (-1.058e-06, 1.059e-05, -3.612e-05, 4.004e-05),
        (-2.789e-09, -1.142e-08, 2.365e-08),
    ),
    viscosity=(
        (-6.437255, 2.471, 0.03328, 1.659, 3.089, -18.65),
        (-0.0255, -0.01171, 0.01086, 0.003157, 0.01831),
        (0.0001782, 0.0001052, 0.0001051, 0.0004063),
        (-7.669e-07, -1.634e-06, -6.475e-06),
    ),
)
