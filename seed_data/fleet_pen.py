"""How numbers get onto paper: saturation pressures, glycol scales, and each technician's own habit of units.

Saturation pressures (bubble) were computed with CoolProp 8.0.0; propylene glycol freezing points are of the ASHRAE
Handbook - Fundamentals 2001; Brix by mass % was computed from refractive indices. Between rows we draw straight lines,
which is good enough for a demonstration and for nothing else.
"""

from bisect import bisect_right
from dataclasses import dataclass

# degF -> psig
_BUBBLE = {
    "R-134a": ((0, 6.48), (10, 11.93), (20, 18.43), (30, 26.09), (90, 104.3), (100, 124.2), (110, 146.4), (120, 171.2)),
    "R-404A": ((0, 33.7), (10, 44.3), (20, 56.6), (30, 70.7), (90, 204.5), (100, 236.8), (110, 272.5), (120, 312.1)),
    "R-290": ((0, 23.7), (10, 31.8), (20, 41.1), (30, 51.8), (90, 150.5), (100, 173.9), (110, 199.6), (120, 227.9)),
    "R-449A": ((0, 33.7), (10, 44.4), (20, 56.9), (30, 71.4), (90, 207.9), (100, 240.7), (110, 277.0), (120, 317.0)),
}
# mass % -> Brix, mass % -> vol %, mass % -> freezing point in degF
_BRIX = ((0, 0.0), (20, 14.79), (25, 18.41), (30, 21.97), (35, 25.43), (40, 28.78), (50, 34.99))
_VOLUME = ((0, 0.0), (20, 19.4), (25, 24.4), (30, 29.4), (35, 34.4), (40, 39.6), (50, 49.9))
_FREEZING = ((0, 32.0), (10, 26.1), (15, 22.8), (20, 19.2), (25, 14.7), (30, 9.1), (35, 2.5), (40, -6.0), (50, -28.3))


def _between(table: tuple[tuple[float, float], ...], x: float) -> float:
    """Straight line between the two rows beside x; beyond the ends, the end rows' line goes on."""
    row = min(max(bisect_right([first for first, _ in table], x), 1), len(table) - 1)
    (x0, y0), (x1, y1) = table[row - 1], table[row]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


def gauge_pressure(refrigerant: str, saturation: float) -> float:
    """Gauge pressure [psi] of a refrigerant at a saturation temperature [degF]."""
    return _between(_BUBBLE[refrigerant], saturation)


def quantity(value: float, unit: str, digits: int = 1) -> str:
    """Number and unit as text, without trailing zeros.

    >>> quantity(28.04, "degF"), quantity(-0.01, "degC")
    ('28 degF', '0 degC')
    """
    return f"{round(value, digits) + 0.0:.10g} {unit}"


@dataclass(frozen=True, slots=True)
class Pen:
    """A technician's habits: the units that are written down."""

    temperature: str
    pressure: str
    strength: str

    def degrees(self, fahrenheit: float) -> str:
        """A temperature given in degF."""
        if self.temperature == "degF":
            return quantity(fahrenheit, "degF")
        return quantity((fahrenheit - 32) / 1.8, "degC")

    def gauge(self, psi: float) -> str:
        """A gauge pressure given in psi."""
        return quantity(psi, "psi", 0) if self.pressure == "psi" else quantity(psi * 6.894757, "kPa", 0)

    def glycol(self, percent: float, glycol: str) -> str:
        """A strength given in mass %. The other scales hold for propylene glycol only."""
        if self.strength == "mass%" or glycol != "propylene":
            return quantity(percent, "mass%", 0)
        if self.strength == "Brix":
            return quantity(_between(_BRIX, percent), "Brix")
        if self.strength == "vol%":
            return quantity(_between(_VOLUME, percent), "vol%", 0)
        return self.degrees(_between(_FREEZING, percent))


PENS = {
    "rhea": Pen("degF", "psi", "Brix"),
    "bram": Pen("degC", "kPa", "mass%"),
    "ines": Pen("degF", "psi", "freezing point"),
    "joss": Pen("degF", "psi", "vol%"),
}
