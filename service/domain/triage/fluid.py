"""A refrigerant's properties over arrays of temperatures: polynomials fitted once to the library's values.

Between -45 and 65 degC they follow the saturation pressure within 0.1 %. Superheated gas is taken as ideal from
saturation on, which gives cooling within 1 % and work within 7 % of `cycle`; readings are coarser.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.domain.physics.libraries import coolprop, coolprop_lock
from service.domain.physics.refrigeration.refrigerants import Refrigerant
from service.domain.physics.refrigeration.saturation import bubble_pressure, dew_pressure

Array = NDArray[np.float64]
Indices = NDArray[np.intp]
CENTRE, SCALE, DEGREE = 280.0, 50.0, 5
COLDEST, HOTTEST, STEP = 228.15, 338.15, 5.0  # [K]
REFERENCE = (263.15, 313.15)  # [K] evaporating and condensing, for the exponent of compression


@dataclass(frozen=True)
class Fluid:
    """Polynomials in (T - 280 K)/50 K, highest power first; `exponent` is (n - 1)/n of an isentropic compression."""

    log_dew: tuple[float, ...]
    log_bubble: tuple[float, ...]
    liquid: tuple[float, ...]  # [J/kg] enthalpy at bubble
    gas: tuple[float, ...]  # [J/kg] enthalpy at dew
    log_density: tuple[float, ...]  # [kg/m3] of gas at dew
    gas_heat: float  # [J/(kg K)]
    liquid_heat: float  # [J/(kg K)]
    exponent: float

    def dew(self, temperature: Array) -> Array:
        """Pressure at dew [Pa]."""
        return np.asarray(np.exp(_at(self.log_dew, temperature)))

    def bubble(self, temperature: Array) -> Array:
        """Pressure at bubble [Pa]."""
        return np.asarray(np.exp(_at(self.log_bubble, temperature)))

    def cold_side(self, temperature: Array) -> tuple[Array, Array, Array, Array]:
        """Pressure at dew, density of gas, its enthalpy and that over the liquid's."""
        log_dew, log_density, gas, latent = _at_once(self._cold, temperature)
        return np.exp(log_dew), np.exp(log_density), gas, latent

    def hot_side(self, temperature: Array) -> tuple[Array, Array, Array]:
        """Pressure at bubble, enthalpy of liquid, and how much that of gas is more."""
        log_bubble, liquid, latent = _at_once(self._hot, temperature)
        return np.exp(log_bubble), liquid, latent

    @cached_property
    def _cold(self) -> Array:
        return np.array([self.log_dew, self.log_density, self.gas, np.subtract(self.gas, self.liquid)])

    @cached_property
    def _hot(self) -> Array:
        return np.array([self.log_bubble, self.liquid, np.subtract(self.gas, self.liquid)])


def _at(coefficients: tuple[float, ...], temperature: Array) -> Array:
    return np.asarray(np.polyval(coefficients, (temperature - CENTRE) / SCALE))


def _at_once(coefficients: Array, temperature: Array) -> Array:
    """Several polynomials of one temperature."""
    powers = np.empty((DEGREE + 1, temperature.size))
    powers[DEGREE] = 1.0
    np.divide(temperature.reshape(-1) - CENTRE, SCALE, out=powers[DEGREE - 1])
    for n in range(DEGREE - 2, -1, -1):
        np.multiply(powers[n + 1], powers[DEGREE - 1], out=powers[n])
    return np.asarray(coefficients @ powers).reshape(-1, *temperature.shape)


@lru_cache(maxsize=32)
def fluid(refrigerant: Refrigerant) -> Fluid:
    """The fitted properties of a refrigerant."""
    grid = np.arange(COLDEST, min(HOTTEST, refrigerant.hottest) + 1e-6, STEP)
    rows = [row for row in (_row(refrigerant, float(each)) for each in grid) if row is not None]
    temperature, liquid, gas, density = np.array(rows).T
    pressures = [[f(refrigerant, float(each)) for each in grid] for f in (dew_pressure, bubble_pressure)]
    return Fluid(
        log_dew=_fit(grid, np.log(pressures[0])),
        log_bubble=_fit(grid, np.log(pressures[1])),
        liquid=_fit(temperature, liquid),
        gas=_fit(temperature, gas),
        log_density=_fit(temperature, np.log(density)),
        **_constants(refrigerant),
    )


def _fit(temperature: Array, values: Array) -> tuple[float, ...]:
    return tuple(float(each) for each in np.polyfit((temperature - CENTRE) / SCALE, values, DEGREE))


def _row(refrigerant: Refrigerant, temperature: float) -> tuple[float, float, float, float] | None:
    """Temperature, enthalpy of liquid and of gas, density of gas; None where the library finds no state of a blend."""
    with coolprop_lock:
        library = coolprop()
        state = library.AbstractState("HEOS", refrigerant.fluid)
        try:
            state.update(library.QT_INPUTS, 0, temperature)
            liquid = float(state.hmass())
            state.update(library.QT_INPUTS, 1, temperature)
        except ValueError:
            return None
        return temperature, liquid, float(state.hmass()), float(state.rhomass())


def _constants(refrigerant: Refrigerant) -> dict[str, float]:
    cold, hot = REFERENCE
    low, high = dew_pressure(refrigerant, cold), bubble_pressure(refrigerant, hot)
    with coolprop_lock:
        state = _gas(refrigerant, low, cold + 6.0)
        heat, density = float(state.cpmass()), float(state.rhomass())
        liquid = _state(refrigerant, "liquid", high, hot - 5.0)
        warmer = _state(refrigerant, "liquid", high, hot - 15.0)
        liquid_heat = (liquid.hmass() - warmer.hmass()) / 10.0
        ideal = low / (density * (cold + 6.0))  # [J/(kg K)] with its compressibility
    return {"gas_heat": heat, "liquid_heat": float(liquid_heat), "exponent": ideal / heat}


def _gas(refrigerant: Refrigerant, pressure: float, temperature: float) -> Any:
    return _state(refrigerant, "gas", pressure, temperature)


def _state(refrigerant: Refrigerant, phase: str, pressure: float, temperature: float) -> Any:
    library = coolprop()
    state = library.AbstractState("HEOS", refrigerant.fluid)
    state.specify_phase(getattr(library, f"iphase_{phase}"))
    state.update(library.PT_INPUTS, pressure, temperature)
    return state
