"""The refrigeration circuit in steady running, over arrays.

A compressor of fixed displacement, an air-cooled condenser, a capillary or a valve, an evaporator in a stirred bath,
and the charge that is shared out among them.

Three unknowns (evaporating and condensing temperature, wet share of the evaporator) are found by Newton's method from
three balances: heat of the evaporator, flow through the metering device, heat of the condenser. Faults change the
constants: air, charge, flow area, non-condensable gas, leaking valves, transfer of the evaporator. They are composed in
the model, not added up as signs: two faults can hide each other.

Left out: oil, accumulator, suction-line heat exchanger, transients, defrost. Textbook balances; the shares of the
charge are judged so that 20 % of it moves the subcooling of a small capillary unit by 5 to 8 K (published: undercharge
of an orifice system is noticeable below 90 %).
"""

from collections import deque
from dataclasses import dataclass

import numpy as np

from service.domain.triage.fluid import Array, Fluid
from service.domain.triage.newton import newton

CLEARANCE = 0.04
SHELL_LOSS = 0.10  # of the heating by compression, to the surroundings of the compressor
DRY_TRANSFER = 7.0  # transfer units of the dry part of the evaporator
LIQUID_TRANSFER = 7.0  # transfer units of the flooded part of the condenser
LIQUID_AIR = 0.8  # heat capacity of the air along the flooded part over that of the liquid, where rated; judged
IN_EVAPORATOR = 0.25  # of the charge
FLASH = 0.30  # quality for each unit of flooded transfer that lacks
FLASH_LOSS = 7.0
SUBCOOLED_GAIN = 0.012  # [1/K] flow of a capillary
VALVE_MARGIN = 1.25
VALVE_BAND = 1.2  # [K]
CARRIED = 0.5  # liquid carried over, for a wet share above 1
LOWEST, HIGHEST = 215.0, 350.0  # [K]


@dataclass(frozen=True)
class Design:
    """Where the unit is rated, and how it runs there when it is healthy."""

    fluid: Fluid
    capillary: bool
    cooling: Array  # [W]
    ambient: Array  # [K]
    bath: Array  # [K]
    approach: Array  # [K] bath over evaporating
    split: Array  # [K] condensing over air in
    superheat: Array  # [K]
    subcooling: Array  # [K]
    rise: Array  # [K] of the air
    efficiency: Array  # of the compressor
    in_condenser: Array  # of the charge, a unit of flooded transfer


@dataclass(frozen=True)
class Now:
    """The conditions and faults of a moment; 1 or 0 is healthy."""

    bath: Array  # [K]
    air: Array  # [K] entering the condenser
    air_flow: Array
    floor: Array  # [K] condensing temperature that a head-pressure control holds, 0 without one
    charge: Array
    opening: Array
    gas: Array  # [Pa] partial pressure of non-condensable gas
    leak: Array
    transfer: Array


@dataclass(frozen=True)
class Running:
    """What the circuit does: temperatures [K], absolute pressures [Pa], heats [W]."""

    evaporating: Array
    condensing: Array
    suction: Array
    discharge: Array
    superheat: Array
    subcooling: Array
    air_out: Array
    discharge_line: Array
    cooling: Array
    power: Array
    power_share: Array  # of the power at the rated point
    wet: Array
    flash: Array


@dataclass(frozen=True)
class _Constants:
    design: Design
    displacement: Array
    transfer: Array
    air_heat: Array
    units: Array
    conductance: Array
    base: Array
    power: Array


def steady(design: Design, now: Now) -> Running:
    """The circuit under these conditions."""
    constants, sides = _constants(design), _Sides(design.fluid)
    distance = 1.1 * design.approach / np.clip(now.transfer, 0.4, 1.0)
    start = (
        now.bath - distance,
        np.minimum(np.maximum(now.air + design.split / np.maximum(now.air_flow, 0.25), now.floor), 345.0),
        _wet_share(design.superheat, distance),
    )
    lower = (np.full_like(now.bath, LOWEST), now.air + 0.05, np.full_like(now.bath, 0.02))
    upper = (now.bath - 0.1, np.full_like(now.bath, HIGHEST), np.full_like(now.bath, 1.9))
    found = newton(lambda *at: _balance(constants, sides, now, *at).residuals, start, lower, upper)
    return _running(constants, sides, now, *found)


class _Sides:
    """The refrigerant's properties on the cold and the hot side.

    Those of the last two temperatures are kept: Newton's method moves one unknown at a time.
    """

    def __init__(self, fluid: Fluid) -> None:
        self._fluid = fluid
        self._cold: deque[tuple[Array, tuple[Array, Array, Array, Array]]] = deque(maxlen=2)
        self._hot: deque[tuple[Array, tuple[Array, Array, Array]]] = deque(maxlen=2)

    def cold(self, temperature: Array) -> tuple[Array, Array, Array, Array]:
        """Pressure, density of gas, enthalpies of gas and liquid."""
        for known, found in self._cold:
            if known is temperature:
                return found
        self._cold.append((temperature, self._fluid.cold_side(temperature)))
        return self._cold[-1][1]

    def hot(self, temperature: Array) -> tuple[Array, Array, Array]:
        """Pressure, enthalpies of liquid and gas."""
        for known, found in self._hot:
            if known is temperature:
                return found
        self._hot.append((temperature, self._fluid.hot_side(temperature)))
        return self._hot[-1][1]


def _flow_factor(fluid: Fluid, suction: Array, discharge: Array) -> Array:
    """Volumetric efficiency of a compressor with clearance."""
    ratio = np.maximum(discharge / suction, 1.01)
    return np.maximum(1.0 - CLEARANCE * (np.exp((1.0 - fluid.exponent) * np.log(ratio)) - 1.0), 0.05)


def _heating(fluid: Fluid, inlet: Array, suction: Array, discharge: Array) -> Array:
    """Heating by an isentropic compression [K]."""
    ratio = np.maximum(discharge / suction, 1.01)
    return inlet * (np.exp(fluid.exponent * np.log(ratio)) - 1.0)


def _wet_share(superheat: Array, distance: Array) -> Array:
    return np.asarray(1.0 + np.log(np.maximum(1.0 - superheat / distance, 0.02)) / DRY_TRANSFER)


def _constants(d: Design) -> _Constants:
    fluid = d.fluid
    cold, hot = d.bath - d.approach, d.ambient + d.split
    suction, discharge = fluid.dew(cold), fluid.bubble(hot)
    inlet = cold + d.superheat
    liquid = fluid.liquid_enthalpy(hot) - fluid.liquid_heat * d.subcooling
    flow = d.cooling / (fluid.gas_enthalpy(cold) + fluid.gas_heat * d.superheat - liquid)
    density = fluid.gas_density(cold) * cold / inlet
    power = flow * fluid.gas_heat * _heating(fluid, inlet, suction, discharge) / d.efficiency
    rejected = d.cooling + power * (1.0 - SHELL_LOSS)
    share = _wet_share(d.superheat, d.approach)
    flooded = -np.log(np.maximum(1.0 - d.subcooling / d.split, 0.05))
    effectiveness = np.minimum(d.rise / d.split, 0.95)
    two_phase = flow * (fluid.gas_enthalpy(cold) - liquid)
    gain = 1.0 + SUBCOOLED_GAIN * d.subcooling if d.capillary else 1.0
    return _Constants(
        design=d,
        displacement=flow / (density * _flow_factor(fluid, suction, discharge)),
        transfer=two_phase / (share * d.approach),
        air_heat=rejected / d.rise,
        units=-np.log(1.0 - effectiveness) / (1.0 - flooded / LIQUID_TRANSFER),
        conductance=flow / (np.sqrt(discharge - suction) * gain),
        base=1.0 - d.in_condenser * flooded - IN_EVAPORATOR * share,
        power=power,
    )


@dataclass(frozen=True)
class _Balance:
    """Everything that follows from the three unknowns."""

    suction: Array
    discharge: Array
    superheat: Array
    subcooling: Array
    flash: Array
    flow: Array
    cooling: Array
    power: Array
    residuals: tuple[Array, Array, Array]
    air_out: Array


def _balance(c: _Constants, sides: _Sides, now: Now, cold: Array, hot: Array, wet: Array) -> _Balance:
    fluid, d = c.design.fluid, c.design
    suction, gas_density, gas, cold_liquid = sides.cold(cold)
    at_bubble, boiling, hot_gas = sides.hot(hot)
    discharge = at_bubble + now.gas
    distance = np.maximum(now.bath - cold, 0.1)
    superheat = distance * (1.0 - np.exp(-DRY_TRANSFER * np.maximum(1.0 - wet, 0.0)))
    over = np.maximum(wet - 1.0, 0.0) * CARRIED
    inlet = cold + superheat
    density = gas_density * cold / inlet
    swept = c.displacement * density * _flow_factor(fluid, suction, discharge)
    flow = swept * (1.0 - now.leak) / np.maximum(1.0 - over, 0.4)
    air_flow = _air_flow(now, hot)
    flooded, subcooling, flash = _liquid(c, now, hot, wet, air_flow)
    latent = gas - cold_liquid
    liquid = boiling - fluid.liquid_heat * subcooling + flash * (hot_gas - boiling)
    evaporated = flow * (gas - over * latent - liquid)
    cooling = evaporated + flow * fluid.gas_heat * superheat
    power = swept * (1.0 - 0.5 * now.leak) * fluid.gas_heat * _heating(fluid, inlet, suction, discharge) / d.efficiency
    rejected = cooling + power * (1.0 - SHELL_LOSS)
    air_heat, taken = _air(c, now, hot, flooded, air_flow)
    metered = _metered(c, now, np.maximum(discharge - suction, 1e3), superheat, (subcooling, flash))
    scale = d.cooling
    return _Balance(
        suction, discharge, superheat, subcooling, flash, flow, cooling, power,
        (
            (evaporated - c.transfer * now.transfer * np.minimum(wet, 1.0) * distance) / scale,
            (metered - flow) * latent / scale,
            (rejected - taken) / scale,
        ),
        now.air + taken / air_heat,
    )  # fmt: skip


def _liquid(c: _Constants, now: Now, hot: Array, wet: Array, air_flow: Array) -> tuple[Array, Array, Array]:
    """Flooded transfer units of the condenser, subcooling, and the quality where liquid lacks."""
    left = (now.charge - c.base - IN_EVAPORATOR * wet) / c.design.in_condenser
    flooded = np.minimum(np.maximum(left, 0.0), 0.8 * LIQUID_TRANSFER)
    cooled = 1.0 - np.exp(-flooded)
    subcooling = np.maximum(hot - now.air, 0.0) * cooled * _limit(cooled, air_flow)
    return flooded, subcooling, np.minimum(np.maximum(-FLASH * left, 0.0), 0.6)


def _limit(cooled: Array, air_flow: Array) -> Array:
    """What less air leaves of the liquid's cooling: it warms up beside the flooded part, and at last takes no more."""
    air, clean = LIQUID_AIR * air_flow, LIQUID_AIR
    return np.asarray(air_flow * (1.0 - np.exp(-cooled / air)) / (1.0 - np.exp(-cooled / clean) + 1e-12))


def _air_flow(now: Now, hot: Array) -> Array:
    """Of the condenser, as a share; a control of the head slows the air."""
    held = np.minimum(np.maximum((hot - now.floor + 2.0) / 4.0, 0.04), 1.0)
    return np.asarray(np.maximum(now.air_flow, 0.02) * held)


def _air(c: _Constants, now: Now, hot: Array, flooded: Array, flow: Array) -> tuple[Array, Array]:
    """Heat capacity of the air stream and the heat that it takes."""
    units = c.units * flow**-0.4 * (1.0 - flooded / LIQUID_TRANSFER)
    air_heat = c.air_heat * flow
    return air_heat, air_heat * (1.0 - np.exp(-units)) * (hot - now.air)


def _metered(c: _Constants, now: Now, difference: Array, superheat: Array, liquid: tuple[Array, Array]) -> Array:
    subcooling, flash = liquid
    full = c.conductance * now.opening * np.sqrt(difference) / (1.0 + FLASH_LOSS * flash)
    if c.design.capillary:
        return np.asarray(full * (1.0 + SUBCOOLED_GAIN * subcooling))
    off = np.minimum(np.maximum((superheat - c.design.superheat) / VALVE_BAND, -20.0), 20.0)
    return np.asarray(full * VALVE_MARGIN / (1.0 + (VALVE_MARGIN - 1.0) * np.exp(-off)))


def _running(c: _Constants, sides: _Sides, now: Now, cold: Array, hot: Array, wet: Array) -> Running:
    b = _balance(c, sides, now, cold, hot, wet)
    fluid, d = c.design.fluid, c.design
    inlet = cold + b.superheat
    heating = _heating(fluid, inlet, b.suction, b.discharge) / d.efficiency * (1.0 - SHELL_LOSS)
    carried = np.maximum(wet - 1.0, 0.0) * CARRIED * 120.0
    return Running(
        evaporating=cold,
        condensing=hot,
        suction=b.suction,
        discharge=b.discharge,
        superheat=b.superheat,
        subcooling=b.subcooling,
        air_out=b.air_out,
        discharge_line=np.maximum(inlet + heating - carried, hot),
        cooling=b.cooling,
        power=b.power,
        power_share=b.power / c.power,
        wet=wet,
        flash=b.flash,
    )
