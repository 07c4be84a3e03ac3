"""How each accepted unit lies on the SI base of its dimension, exact (NIST SP 811, 2008, appendix B).

A test compares every row with the library pint. inHg is the conventional inch of mercury, hp is 550 ft lbf/s, Btu is
the International Table Btu; gal, qt and floz are the US liquid measures.
"""

from typing import NamedTuple


class Scale(NamedTuple):
    """SI = (number + shift) * times / over. For degF: (number + 459.67) * 5 / 9."""

    shift: float
    times: float
    over: float

    def to_si(self, number: float) -> float:
        """A number in this unit as an SI value."""
        return (number + self.shift) * self.times / self.over

    def from_si(self, value: float) -> float:
        """An SI value as a number in this unit."""
        return value * self.over / self.times - self.shift


SCALES = {
    "degC": Scale(273.15, 1, 1),
    "degF": Scale(459.67, 5, 9),
    "K": Scale(0, 1, 1),
    "deltaC": Scale(0, 1, 1),
    "deltaF": Scale(0, 5, 9),
    "kPa": Scale(0, 1_000, 1),
    "psi": Scale(0, 8_896_443_230_521, 1_290_320_000),
    "bar": Scale(0, 100_000, 1),
    "Pa": Scale(0, 1, 1),
    "inHg": Scale(0, 3_386_388_640_341, 1_000_000_000),
    "L": Scale(0, 1, 1_000),
    "mL": Scale(0, 1, 1_000_000),
    "gal": Scale(0, 473_176_473, 125_000_000_000),
    "floz": Scale(0, 473_176_473, 16_000_000_000_000),
    "m3": Scale(0, 1, 1),
    "qt": Scale(0, 473_176_473, 500_000_000_000),
    "m": Scale(0, 1, 1),
    "mm": Scale(0, 1, 1_000),
    "cm": Scale(0, 1, 100),
    "ft": Scale(0, 381, 1_250),
    "in": Scale(0, 127, 5_000),
    "kg": Scale(0, 1, 1),
    "g": Scale(0, 1, 1_000),
    "lb": Scale(0, 45_359_237, 100_000_000),
    "oz": Scale(0, 45_359_237, 1_600_000_000),
    "A": Scale(0, 1, 1),
    "mA": Scale(0, 1, 1_000),
    "V": Scale(0, 1, 1),
    "mV": Scale(0, 1, 1_000),
    "W": Scale(0, 1, 1),
    "kW": Scale(0, 1_000, 1),
    "Btu/h": Scale(0, 65_941, 225_000),
    "hp": Scale(0, 3.728499357911351e16, 50_000_000_000_000),
    "L/min": Scale(0, 1, 60_000),
    "L/h": Scale(0, 1, 3_600_000),
    "gal/h": Scale(0, 157_725_491, 150_000_000_000_000),
    "gal/min": Scale(0, 157_725_491, 2_500_000_000_000),
    "m3/h": Scale(0, 1, 3_600),
    "mass%": Scale(0, 1, 100),
    "vol%": Scale(0, 1, 100),
    "Brix": Scale(0, 1, 1),
    "%": Scale(0, 1, 100),
    "Hz": Scale(0, 1, 1),
    "s": Scale(0, 1, 1),
    "min": Scale(0, 60, 1),
    "h": Scale(0, 3_600, 1),
    "d": Scale(0, 86_400, 1),
    "pH": Scale(0, 1, 1),
}
