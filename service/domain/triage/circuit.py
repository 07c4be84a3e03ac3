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

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from service.domain.triage.balance import (
    FLASH,
    FLASH_LOSS,
    IN_EVAPORATOR,
    SHELL_LOSS,
    VALVE_MARGIN,
    Circuit,
    Constants,
    Design,
    Now,
    constants,
    flat,
    wet_share,
)
from service.domain.triage.fluid import Array
from service.domain.triage.newton import Unknowns, newton
from service.domain.triage.parts import Balance

LOWEST, HIGHEST = 190.0, 355.0  # [K]
WARMER = 15.0  # [K] evaporating over the bath, at most: hot liquid that a weak compressor leaves in it
DRIEST, WETTEST = 0.0, 6.0
WIDEST, WIDEST_ON_A_VALVE = (8.0, 10.0, 0.25), (8.0, 10.0, 0.1)  # step of each unknown
NEAR_HIGHEST = 345.0  # [K]
LEAST_AIR = 0.1  # of the condenser, for the start
HOT_SLOPE, COLD_SLOPE = 0.027, 0.036  # [1/K] of the logarithm of the saturation pressure, near enough for the start


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
    unsettled: Array  # the largest residual, as a share of the rated cooling


@dataclass(frozen=True)
class Solved:
    """Circuits of one unit that were solved, each for all draws, by a key."""

    place: dict[bytes, int] = field(default_factory=dict)
    found: list[Running] = field(default_factory=list)

    def add(self, keys: Iterable[bytes], found: Running) -> None:
        """Keep these."""
        self.place.update({key: len(self.place) + n for n, key in enumerate(keys)})
        self.found.append(found)

    def at(self, keys: Iterable[bytes]) -> Running:
        """Those of these keys."""
        back, (first, *others) = np.array([self.place[key] for key in keys]), [vars(each) for each in self.found]
        parts = {
            name: np.concatenate([one, *(part[name] for part in others)]) if others else one
            for name, one in first.items()
        }
        return Running(**{name: part.take(back, axis=0) for name, part in parts.items()})


def steady(design: Design, now: Now) -> Running:
    """The circuit under these conditions."""
    rated = constants(design)
    circuit = Circuit.of(design, rated, now)
    bath, air = now.bath.reshape(-1), now.air.reshape(-1)
    bounds = np.array(
        [
            [np.full_like(bath, LOWEST), air + 0.05, np.full_like(bath, DRIEST)],
            [bath + WARMER, np.full_like(bath, HIGHEST), np.full_like(bath, WETTEST)],
        ]
    )
    start = np.minimum(np.maximum(flat(_start(design, rated, now), now.bath.shape), bounds[0]), bounds[1])
    found = newton(circuit, start, bounds, WIDEST if design.capillary else WIDEST_ON_A_VALVE)
    return _running(design, rated, now, circuit.balance(*found))


def _start(design: Design, rated: Constants, now: Now) -> Unknowns:
    """Unknowns near the solution.

    What the metering device lets through at once goes with the root of the difference of pressures, what the compressor
    takes with the suction pressure, and pressures nearly with the exponent of the temperature. More than the evaporator
    can take does not evaporate: it is flooded then, and follows the bath.
    """
    d = design
    cold, hot = d.bath - d.approach, d.ambient + d.split
    ratio = d.fluid.dew(cold) / d.fluid.bubble(hot)
    tight = 1.0 - now.leak
    over = d.split / np.maximum(now.air_flow, LEAST_AIR)
    head = np.minimum(np.maximum(now.air + over * np.sqrt(tight), now.floor), NEAR_HIGHEST)
    left = (now.charge - rated.base - 0.4 * IN_EVAPORATOR) / d.in_condenser
    opening = now.opening / (tight * (1.0 + FLASH_LOSS * np.minimum(np.maximum(-FLASH * left, 0.0), 0.6)))
    drive = np.sqrt(np.maximum(np.exp(HOT_SLOPE * (head - hot)) - ratio, 0.02) / (1.0 - ratio))
    dry = cold + np.log(opening * drive * (1.0 if d.capillary else VALVE_MARGIN)) / COLD_SLOPE
    flooded = now.bath - 0.9 * d.approach / np.maximum(now.transfer, 0.3) * tight
    if not d.capillary:
        flooded = np.minimum(flooded, now.bath - 1.05 * d.superheat)
    evaporating = np.minimum(dry, flooded)
    flow = np.exp(COLD_SLOPE * (evaporating - cold)) * tight
    condensing = np.minimum(np.maximum(now.air + over * np.sqrt(flow), now.floor), NEAR_HIGHEST)
    distance = np.maximum(now.bath - evaporating, 0.5)
    share = np.minimum(0.65 * flow * d.approach / (distance * now.transfer), 0.95)
    if d.capillary:
        return evaporating, condensing, np.where(dry > flooded, 1.1, share)
    regulated = wet_share(d.superheat, np.maximum(distance, 1.04 * d.superheat))
    return evaporating, condensing, np.where(dry > flooded - 4.0, regulated, share)


def _running(design: Design, rated: Constants, now: Now, b: Balance) -> Running:
    """What the balance means, in the shape of the conditions."""

    def shaped(values: Array) -> Array:
        return values.reshape(now.bath.shape)

    heating = shaped(b.evaporator.inlet * b.compressed.heating) / design.efficiency * (1.0 - SHELL_LOSS)
    condensing, power = shaped(b.hot.temperature), shaped(b.power)
    gas = shaped(b.evaporator.inlet - 120.0 * b.wet.carried) + heating
    return Running(
        evaporating=shaped(b.cold.temperature),
        condensing=condensing,
        suction=shaped(b.cold.suction),
        discharge=shaped(b.hot.discharge),
        superheat=shaped(b.evaporator.superheat),
        subcooling=shaped(b.condenser.subcooling),
        air_out=now.air + shaped(b.condenser.taken / b.hot.air_heat),
        discharge_line=np.maximum(gas, condensing),
        cooling=shaped(b.cooling) * design.cooling,
        power=power * design.cooling,
        power_share=power / rated.power,
        wet=shaped(b.wet.share),
        flash=shaped(b.wet.flash),
        unsettled=shaped(np.abs(np.array(b.residuals)).max(axis=0)),
    )
