"""The balances of the refrigeration circuit: what follows from evaporating and condensing temperature and wet share."""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple, TypeVar, cast

import numpy as np

from service.domain.triage.fluid import Array, Fluid

T = TypeVar("T")
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
class Constants:
    """What of a circuit stays the same in every condition, found where it is rated."""

    design: Design
    displacement: Array
    transfer: Array
    air_heat: Array
    units: Array
    conductance: Array
    base: Array
    power: Array


class ColdSide(NamedTuple):
    """The evaporator, from evaporating temperature and wet share."""

    distance: Array  # [K] bath over evaporating
    superheat: Array
    inlet: Array  # [K] of the compressor
    gained: Array  # [J/kg] enthalpy that leaves the wet part
    swept: Array  # [kg/s] that fills the compressor without clearance
    flow_factor: Array  # what liquid carried over adds to the flow
    latent: Array


class HotSide(NamedTuple):
    """The condenser, from condensing temperature and wet share, which leaves it its charge."""

    subcooling: Array
    flash: Array
    liquid: Array  # [J/kg] enthalpy
    air_heat: Array  # [W/K] of the air stream
    taken: Array  # [W] by the air


class Compressed(NamedTuple):
    """The compression, from both pressures."""

    filling: Array  # volumetric efficiency of a compressor with clearance
    heating: Array  # by an isentropic compression, over the absolute temperature at the inlet


@dataclass(frozen=True)
class Balance:
    """Everything that follows from the three unknowns."""

    suction: Array
    discharge: Array
    cold: ColdSide
    hot: HotSide
    compressed: Compressed
    cooling: Array
    power: Array
    residuals: tuple[Array, Array, Array]


class Kept:
    """What was found for the last arrays: Newton's method moves one unknown at a time, and the rest stays."""

    def __init__(self) -> None:
        self._found: dict[str, deque[tuple[tuple[Array, ...], object]]] = {}

    def of(self, name: str, find: Callable[..., T], *at: Array) -> T:
        """What `find` gives for these arrays; by name, that for the last three is kept."""
        kept = self._found.setdefault(name, deque(maxlen=3))
        for known, found in kept:
            if all(a is b for a, b in zip(known, at, strict=True)):
                return cast("T", found)
        found = find(*at)
        kept.append((at, found))
        return found


class Circuit:
    """A circuit under the conditions of a moment, and its balances."""

    def __init__(self, design: Design, now: Now) -> None:
        self.design, self.now, self.rated = design, now, constants(design)
        d, c, fluid = design, self.rated, design.fluid
        self._kept = Kept()
        self._transfer = c.transfer * now.transfer / d.cooling
        self._opening = c.conductance * now.opening
        self._charge = (now.charge - c.base) / d.in_condenser
        self._in_evaporator = IN_EVAPORATOR / d.in_condenser
        self._tight = c.displacement * (1.0 - now.leak)
        self._work = c.displacement * (1.0 - 0.5 * now.leak) * fluid.gas_heat / d.efficiency
        self._air_flow = np.maximum(now.air_flow, 0.02)
        self._per_cooling = 1.0 / d.cooling

    def residuals(self, cold: Array, hot: Array, wet: Array) -> tuple[Array, Array, Array]:
        """What is left of the balances of evaporator, metering device and condenser."""
        return self.balance(cold, hot, wet).residuals

    def balance(self, cold: Array, hot: Array, wet: Array) -> Balance:
        """All of it."""
        kept, now, heat = self._kept, self.now, self.design.fluid.gas_heat
        suction = kept.of("cold", self.design.fluid.cold_side, cold)[0]
        discharge = kept.of("hot", self.design.fluid.hot_side, hot)[0] + now.gas
        compressed = kept.of("compressed", self._compressed, cold, hot)
        evaporator = kept.of("evaporator", self._evaporator, cold, wet)
        condenser = kept.of("condenser", self._condenser, hot, wet)
        filled = evaporator.swept * compressed.filling
        flow = self._tight * filled * evaporator.flow_factor
        evaporated = flow * (evaporator.gained - condenser.liquid)
        cooling = evaporated + flow * heat * evaporator.superheat
        power = self._work * filled * evaporator.inlet * compressed.heating
        metered = self._metered(np.maximum(discharge - suction, 1e3), evaporator.superheat, condenser)
        scale = self._per_cooling
        return Balance(
            suction, discharge, evaporator, condenser, compressed, cooling, power,
            (
                evaporated * scale - self._transfer * np.minimum(wet, 1.0) * evaporator.distance,
                (metered - flow) * evaporator.latent * scale,
                (cooling + power * (1.0 - SHELL_LOSS) - condenser.taken) * scale,
            ),
        )  # fmt: skip

    def _compressed(self, cold: Array, hot: Array) -> Compressed:
        fluid = self.design.fluid
        suction, discharge = (
            self._kept.of("cold", fluid.cold_side, cold)[0],
            self._kept.of("hot", fluid.hot_side, hot)[0],
        )
        return _compressed(fluid, suction, discharge + self.now.gas)

    def _evaporator(self, cold: Array, wet: Array) -> ColdSide:
        _, density, gas, liquid = self._kept.of("cold", self.design.fluid.cold_side, cold)
        distance = np.maximum(self.now.bath - cold, 0.1)
        superheat = distance * (1.0 - np.exp(-DRY_TRANSFER * np.maximum(1.0 - wet, 0.0)))
        over = np.maximum(wet - 1.0, 0.0) * CARRIED
        inlet, latent = cold + superheat, gas - liquid
        flow_factor = 1.0 / np.maximum(1.0 - over, 0.4)
        return ColdSide(distance, superheat, inlet, gas - over * latent, density * cold / inlet, flow_factor, latent)

    def _condenser(self, hot: Array, wet: Array) -> HotSide:
        now, fluid, c = self.now, self.design.fluid, self.rated
        _, boiling, gas = self._kept.of("hot", fluid.hot_side, hot)
        air_flow = self._kept.of("air_flow", self._air, hot)
        left = self._charge - self._in_evaporator * wet
        flooded = np.minimum(np.maximum(left, 0.0), 0.8 * LIQUID_TRANSFER)
        over = hot - now.air
        cooled = 1.0 - np.exp(-flooded)
        subcooling = np.maximum(over, 0.0) * cooled * _limit(cooled, air_flow)
        flash = np.minimum(np.maximum(-FLASH * left, 0.0), 0.6)
        units = c.units * np.exp(-0.4 * np.log(air_flow)) * (1.0 - flooded / LIQUID_TRANSFER)
        air_heat = c.air_heat * air_flow
        liquid = boiling - fluid.liquid_heat * subcooling + flash * (gas - boiling)
        return HotSide(subcooling, flash, liquid, air_heat, air_heat * (1.0 - np.exp(-units)) * over)

    def _air(self, hot: Array) -> Array:
        """Air of the condenser, as a share; a control of the head slows it."""
        return self._air_flow * np.minimum(np.maximum((hot - self.now.floor + 2.0) / 4.0, 0.04), 1.0)

    def _metered(self, difference: Array, superheat: Array, liquid: HotSide) -> Array:
        full = self._opening * np.sqrt(difference) / (1.0 + FLASH_LOSS * liquid.flash)
        if self.design.capillary:
            return np.asarray(full * (1.0 + SUBCOOLED_GAIN * liquid.subcooling))
        off = np.minimum(np.maximum((superheat - self.design.superheat) / VALVE_BAND, -20.0), 20.0)
        return np.asarray(full * VALVE_MARGIN / (1.0 + (VALVE_MARGIN - 1.0) * np.exp(-off)))


def _compressed(fluid: Fluid, suction: Array, discharge: Array) -> Compressed:
    ratio = np.maximum(discharge / suction, 1.01)
    warmer = np.exp(fluid.exponent * np.log(ratio))
    return Compressed(np.maximum(1.0 - CLEARANCE * (ratio / warmer - 1.0), 0.05), warmer - 1.0)


def wet_share(superheat: Array, distance: Array) -> Array:
    """The share of the evaporator that is wet."""
    return np.asarray(1.0 + np.log(np.maximum(1.0 - superheat / distance, 0.02)) / DRY_TRANSFER)


def constants(d: Design) -> Constants:
    """What the circuit is made of, from where it is rated."""
    fluid = d.fluid
    cold, hot = d.bath - d.approach, d.ambient + d.split
    suction, discharge = fluid.dew(cold), fluid.bubble(hot)
    inlet = cold + d.superheat
    liquid = fluid.liquid_enthalpy(hot) - fluid.liquid_heat * d.subcooling
    flow = d.cooling / (fluid.gas_enthalpy(cold) + fluid.gas_heat * d.superheat - liquid)
    density = fluid.gas_density(cold) * cold / inlet
    compressed = _compressed(fluid, suction, discharge)
    power = flow * fluid.gas_heat * inlet * compressed.heating / d.efficiency
    rejected = d.cooling + power * (1.0 - SHELL_LOSS)
    share = wet_share(d.superheat, d.approach)
    flooded = -np.log(np.maximum(1.0 - d.subcooling / d.split, 0.05))
    effectiveness = np.minimum(d.rise / d.split, 0.95)
    two_phase = flow * (fluid.gas_enthalpy(cold) - liquid)
    gain = 1.0 + SUBCOOLED_GAIN * d.subcooling if d.capillary else 1.0
    return Constants(
        design=d,
        displacement=flow / (density * compressed.filling),
        transfer=two_phase / (share * d.approach),
        air_heat=rejected / d.rise,
        units=-np.log(1.0 - effectiveness) / (1.0 - flooded / LIQUID_TRANSFER),
        conductance=flow / (np.sqrt(discharge - suction) * gain),
        base=1.0 - d.in_condenser * flooded - IN_EVAPORATOR * share,
        power=power,
    )


def _limit(cooled: Array, air_flow: Array) -> Array:
    """What less air leaves of the liquid's cooling: it warms up beside the flooded part, and at last takes no more."""
    air, clean = LIQUID_AIR * air_flow, LIQUID_AIR
    return np.asarray(air_flow * (1.0 - np.exp(-cooled / air)) / (1.0 - np.exp(-cooled / clean) + 1e-12))
