"""The balances of the refrigeration circuit: what follows from evaporating and condensing temperature and wet share.

Everything is for each watt of the rated cooling. What depends on one unknown, or on two, is worked out by itself:
Newton's method moves one unknown at a time, and the rest stays.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.domain.triage.fluid import Array, Fluid, Indices
from service.domain.triage.parts import Balance, Cold, Compressed, Condenser, Evaporator, Hot, Wet

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
CARRIED, MOST_CARRIED = 0.5, 0.6  # liquid carried over, for a wet share above 1, and at most
STILL_AIR = 0.04  # of the condenser's air: what moves without a fan
CONTROL_BAND = 2.0  # [K] about the floor, in which a control of the head lets the condenser have its air
STOPS, STOPS_BAND = 350.0, 10.0  # [K] condensing at which an overload lets the compressor run half of the time


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
    """The conditions and faults of moments, each for all draws of the design; 1 or 0 is healthy."""

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
class Constants:
    """What of a circuit stays the same in every condition, found where it is rated, for each watt of cooling."""

    displacement: Array
    transfer: Array
    air_heat: Array
    units: Array
    conductance: Array
    base: Array
    power: Array


class Circuit:
    """Circuits of one unit under the conditions of moments, one an element, and their balances."""

    def __init__(self, fluid: Fluid, given: Array, *, capillary: bool) -> None:
        """The rows of `given` are those of `of`; a circuit of some of the elements takes columns of it."""
        self.fluid, self.capillary, self.given = fluid, capillary, given
        self._bath, self._air, self._floor, self._gas, self._air_flow, self._units, self._air_heat = given[:7]
        self._transfer, self._opening, self._charge, self._in_evaporator, self._tight, self._work = given[7:13]
        self._superheat = given[13]

    @classmethod
    def of(cls, design: Design, rated: Constants, now: Now) -> "Circuit":
        """All circuits of a design, the draws one after another."""
        c, d, fluid = rated, design, design.fluid
        rows = (
            now.bath,
            now.air,
            now.floor,
            now.gas,
            np.maximum(now.air_flow, 1.2 * STILL_AIR),
            c.units,
            c.air_heat,
            c.transfer * now.transfer,
            c.conductance * now.opening,
            (now.charge - c.base) / d.in_condenser,
            IN_EVAPORATOR / d.in_condenser,
            c.displacement * (1.0 - now.leak),
            c.displacement * (1.0 - 0.5 * now.leak) * fluid.gas_heat / d.efficiency,
            d.superheat,
        )
        return cls(fluid, flat(rows, now.bath.shape), capillary=d.capillary)

    def some(self, which: Indices) -> "Circuit":
        """The circuits of these elements."""
        return Circuit(self.fluid, self.given[:, which], capillary=self.capillary)

    def balance(self, cold: Array, hot: Array, wet: Array) -> Balance:
        """All of it."""
        at = self._cold(cold), self._hot(hot), self._wet(wet)
        return self._balance(*at, self._compressed(*at[:2]), self._evaporator(at[0], at[2]), self._condenser(*at[1:]))

    def moved(self, b: Balance, unknown: int, by: float) -> Balance:
        """The balance where one unknown is moved."""
        if unknown == 0:
            cold = self._cold(b.cold.temperature + by)
            compressed, evaporator = self._compressed(cold, b.hot), self._evaporator(cold, b.wet)
            return self._balance(cold, b.hot, b.wet, compressed, evaporator, b.condenser)
        if unknown == 1:
            hot = self._hot(b.hot.temperature + by)
            compressed, condenser = self._compressed(b.cold, hot), self._condenser(hot, b.wet)
            return self._balance(b.cold, hot, b.wet, compressed, b.evaporator, condenser)
        wet = self._wet(b.wet.share + by)
        evaporator, condenser = self._evaporator(b.cold, wet), self._condenser(b.hot, wet)
        return self._balance(b.cold, b.hot, wet, b.compressed, evaporator, condenser)

    def _balance(  # the parts of a balance
        self, cold: Cold, hot: Hot, wet: Wet, compressed: Compressed, evaporator: Evaporator, condenser: Condenser
    ) -> Balance:
        filled = cold.swept * compressed.filling
        flow = wet.flow_factor * filled / evaporator.inlet
        evaporated = flow * np.maximum(evaporator.gained - condenser.liquid, 0.0)
        cooling = evaporated + flow * evaporator.superheat * self.fluid.gas_heat
        power = self._work * filled * compressed.heating
        metered = self._metered(wet, compressed, evaporator, condenser)
        residuals = (
            evaporated - wet.transfer * cold.distance,
            (metered - flow) * cold.latent,
            (cooling + power * (1.0 - SHELL_LOSS)) * hot.runs - condenser.taken,
        )
        return Balance(cold, hot, wet, compressed, evaporator, condenser, cooling, power, residuals)

    def _cold(self, temperature: Array) -> Cold:
        suction, density, gas, latent = self.fluid.cold_side(temperature)
        return Cold(temperature, suction, density * temperature, gas, latent, self._bath - temperature)

    def _hot(self, temperature: Array) -> Hot:
        """A control of the head lets the fan blow a share of the time; an overload stops a compressor that is too hot.

        While the fan blows it blows as ever: the liquid, which stays in the flooded part for minutes, is cooled by it.
        """
        pressure, boiling, latent = self.fluid.hot_side(temperature)
        let_in = 0.5 + 0.5 * np.tanh((temperature - self._floor) / CONTROL_BAND)
        air_flow = STILL_AIR + (self._air_flow - STILL_AIR) * let_in
        units = self._units * np.exp(-0.4 * np.log(air_flow))
        runs = np.minimum((STOPS + 0.5 * STOPS_BAND - temperature) / STOPS_BAND, 1.0)
        over, air_heat = temperature - self._air, self._air_heat * air_flow
        return Hot(
            temperature, pressure + self._gas, boiling, latent, over, LIQUID_AIR * self._air_flow, air_heat, units, runs
        )

    def _wet(self, share: Array) -> Wet:
        carried = MOST_CARRIED - MOST_CARRIED * np.exp(np.maximum(share - 1.0, 0.0) * (-CARRIED / MOST_CARRIED))
        left = self._charge - self._in_evaporator * share
        flooded = np.minimum(np.maximum(left, 0.0), 0.8 * LIQUID_TRANSFER)
        flash = np.minimum(np.maximum(-FLASH * left, 0.0), 0.6)
        cooled = 1.0 - np.exp(-flooded)
        return Wet(
            share=share,
            dry=1.0 - np.exp(-DRY_TRANSFER * np.maximum(1.0 - share, 0.0)),
            carried=carried,
            flow_factor=self._tight / (1.0 - carried),
            transfer=self._transfer * np.minimum(share, 1.0),
            free=1.0 - flooded / LIQUID_TRANSFER,
            cooled=cooled,
            clean=1.0 - np.exp(-cooled / LIQUID_AIR) + 1e-12,
            flash=flash,
            opening=self._opening / (1.0 + FLASH_LOSS * flash),
        )

    def _compressed(self, cold: Cold, hot: Hot) -> Compressed:
        drive = np.sqrt(np.maximum(hot.discharge - cold.suction, 1e3))
        return Compressed(*_compression(self.fluid, cold.suction, hot.discharge), drive)

    def _evaporator(self, cold: Cold, wet: Wet) -> Evaporator:
        superheat = np.maximum(cold.distance, 0.0) * wet.dry
        return Evaporator(superheat, cold.temperature + superheat, cold.gas - wet.carried * cold.latent)

    def _condenser(self, hot: Hot, wet: Wet) -> Condenser:
        """Less air warms up beside the flooded part, and at last cools the liquid no further."""
        limit = hot.air * (1.0 - np.exp(-wet.cooled / hot.air)) / (LIQUID_AIR * wet.clean)
        subcooling = np.maximum(hot.over, 0.0) * wet.cooled * limit
        liquid = hot.boiling - self.fluid.liquid_heat * subcooling + wet.flash * hot.latent
        return Condenser(subcooling, liquid, hot.air_heat * (1.0 - np.exp(-hot.units * wet.free)) * hot.over)

    def _metered(self, wet: Wet, compressed: Compressed, evaporator: Evaporator, condenser: Condenser) -> Array:
        full = wet.opening * compressed.drive
        if self.capillary:
            return np.asarray(full * (1.0 + SUBCOOLED_GAIN * condenser.subcooling))
        off = np.minimum(np.maximum((evaporator.superheat - self._superheat) / VALVE_BAND, -20.0), 20.0)
        return np.asarray(full * VALVE_MARGIN / (1.0 + (VALVE_MARGIN - 1.0) * np.exp(-off)))


def flat(rows: Sequence[Array], shape: tuple[int, ...]) -> Array:
    """Rows of arrays that each have this shape or are repeated to it."""
    found = np.empty((len(rows), *shape))
    for n, each in enumerate(rows):
        found[n] = each
    return found.reshape(len(rows), -1)


def _compression(fluid: Fluid, suction: Array, discharge: Array) -> tuple[Array, Array]:
    """Volumetric efficiency, and heating over the absolute temperature at the inlet."""
    ratio = np.maximum(discharge / suction, 1.01)
    warmer = np.exp(fluid.exponent * np.log(ratio))
    return np.maximum(1.0 - CLEARANCE * (ratio / warmer - 1.0), 0.05), warmer - 1.0


def wet_share(superheat: Array, distance: Array) -> Array:
    """The share of the evaporator that is wet."""
    return np.asarray(1.0 + np.log(np.maximum(1.0 - superheat / distance, 0.02)) / DRY_TRANSFER)


def constants(d: Design) -> Constants:
    """What the circuit is made of, from where it is rated."""
    fluid = d.fluid
    cold, hot = d.bath - d.approach, d.ambient + d.split
    suction, density, gas, _ = fluid.cold_side(cold)
    discharge, boiling, _ = fluid.hot_side(hot)
    inlet = cold + d.superheat
    liquid = boiling - fluid.liquid_heat * d.subcooling
    flow = 1.0 / (gas + fluid.gas_heat * d.superheat - liquid)
    filling, heating = _compression(fluid, suction, discharge)
    power = flow * fluid.gas_heat * inlet * heating / d.efficiency
    share = wet_share(d.superheat, d.approach)
    flooded = -np.log(np.maximum(1.0 - d.subcooling / d.split, 0.05))
    effectiveness = np.minimum(d.rise / d.split, 0.95)
    gain = 1.0 + SUBCOOLED_GAIN * d.subcooling if d.capillary else 1.0
    return Constants(
        displacement=flow * inlet / (density * cold * filling),
        transfer=flow * (gas - liquid) / (share * d.approach),
        air_heat=(1.0 + power * (1.0 - SHELL_LOSS)) / d.rise,
        units=-np.log(1.0 - effectiveness) / (1.0 - flooded / LIQUID_TRANSFER),
        conductance=flow / (np.sqrt(discharge - suction) * gain),
        base=1.0 - d.in_condenser * flooded - IN_EVAPORATOR * share,
        power=power,
    )
