"""Saturation properties of the refrigerants simulated, as tables of 1 K made once with CoolProp.

Temperatures in degC, pressures in kPa absolute, enthalpies in kJ/kg. R-404A is CoolProp's pseudo-pure fluid: its bubble
and dew pressures differ by about 1 %.
"""

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import exp, log
from typing import NamedTuple

from CoolProp.CoolProp import PropsSI

LOW, HIGH = -50, 68  # degC; R-404A is critical at 72
ROWS = 50  # a kelvin
SUPERHEATED = 20.0  # K over which the specific heat of the vapour is averaged
FLUIDS = {"R-134a": "R134a", "R-404A": "R404A", "R-290": "R290"}


class Saturated(NamedTuple):
    """Liquid and vapour at a temperature."""

    bubble: float
    dew: float
    liquid_enthalpy: float
    vapour_enthalpy: float
    vapour_density: float
    liquid_density: float
    vapour_heat: float
    liquid_heat: float
    vapour_entropy: float


@dataclass(frozen=True, slots=True)
class Refrigerant:
    """One refrigerant: rows every fiftieth of a kelvin, and its pressures every kelvin, from LOW to HIGH."""

    name: str
    rows: list[Saturated]
    bubble: list[float]
    dew: list[float]

    def at(self, celsius: float) -> Saturated:
        """The row nearest to a temperature; the first or last beyond the ends."""
        return self.rows[min(max(int((celsius - LOW) * ROWS + 0.5), 0), len(self.rows) - 1)]

    def bubble_temperature(self, kilopascal: float) -> float:
        """The saturation temperature of the liquid at a pressure."""
        return _temperature(self.bubble, kilopascal)

    def dew_temperature(self, kilopascal: float) -> float:
        """The saturation temperature of the vapour at a pressure."""
        return _temperature(self.dew, kilopascal)


def _temperature(pressures: list[float], kilopascal: float) -> float:
    n = min(max(bisect_right(pressures, kilopascal) - 1, 0), len(pressures) - 2)
    low, high = pressures[n], pressures[n + 1]
    return LOW + n + log(max(kilopascal, 1.0) / low) / log(high / low)


def work(cold: Saturated, evaporating: float, superheat: float, hot: Saturated, condensing: float) -> float:
    """Isentropic work of compression from superheated vapour to the condensing pressure, kJ/kg."""
    kelvin = evaporating + 273.15
    entropy = cold.vapour_entropy + cold.vapour_heat * log((kelvin + superheat) / kelvin)
    last = (condensing + 273.15) * exp((entropy - hot.vapour_entropy) / hot.vapour_heat)
    rise = hot.vapour_enthalpy - cold.vapour_enthalpy
    return rise + hot.vapour_heat * (last - condensing - 273.15) - cold.vapour_heat * superheat


@lru_cache
def refrigerant(name: str) -> Refrigerant:
    """The tables of one refrigerant."""
    fluid = FLUIDS[name]
    kelvins = [273.15 + celsius for celsius in range(LOW, HIGH + 1)]

    def saturated(key: str, quality: int, scale: float) -> list[float]:
        return [PropsSI(key, "T", kelvin, "Q", quality, fluid) / scale for kelvin in kelvins]

    bubble, dew, gas = saturated("P", 0, 1e3), saturated("P", 1, 1e3), saturated("H", 1, 1e3)
    hot = [
        PropsSI("H", "T", kelvin + SUPERHEATED, "P", pressure * 1e3, fluid) / 1e3
        for kelvin, pressure in zip(kelvins, dew, strict=True)
    ]
    liquid = saturated("H", 0, 1e3)
    rises = [b - a for a, b in pairwise(liquid)]
    columns = (
        bubble,
        dew,
        liquid,
        gas,
        saturated("D", 1, 1.0),
        saturated("D", 0, 1.0),
        [(high - low) / SUPERHEATED for high, low in zip(hot, gas, strict=True)],
        [*rises, rises[-1]],
        saturated("S", 1, 1e3),
    )
    return Refrigerant(name, [Saturated(*row) for row in _finer(list(zip(*columns, strict=True)))], bubble, dew)


def _finer(rows: list[tuple[float, ...]]) -> Iterator[list[float]]:
    for low, high in pairwise(rows):
        for n in range(ROWS):
            yield [a + (b - a) * n / ROWS for a, b in zip(low, high, strict=True)]
    yield list(rows[-1])
