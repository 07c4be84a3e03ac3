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

from service.domain.triage.balance import SHELL_LOSS, Balance, Circuit, Design, Now, wet_share
from service.domain.triage.fluid import Array
from service.domain.triage.newton import newton

LOWEST, HIGHEST = 215.0, 350.0  # [K]


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
        back, parts = [self.place[key] for key in keys], [vars(each) for each in self.found]
        return Running(**{name: np.concatenate([part[name] for part in parts])[back] for name in parts[0]})


def steady(design: Design, now: Now) -> Running:
    """The circuit under these conditions."""
    circuit = Circuit(design, now)
    distance = 1.1 * design.approach / np.clip(now.transfer, 0.4, 1.0)
    start = (
        now.bath - distance,
        np.minimum(np.maximum(now.air + design.split / np.maximum(now.air_flow, 0.25), now.floor), 345.0),
        wet_share(design.superheat, distance),
    )
    lower = (np.full_like(now.bath, LOWEST), now.air + 0.05, np.full_like(now.bath, 0.02))
    upper = (now.bath - 0.1, np.full_like(now.bath, HIGHEST), np.full_like(now.bath, 1.9))
    found = newton(circuit.balance, circuit.moved, start, (lower, upper))
    return _running(circuit, circuit.balance(*found))


def _running(circuit: Circuit, b: Balance) -> Running:
    heating = b.evaporator.inlet * b.compressed.heating / circuit.design.efficiency * (1.0 - SHELL_LOSS)
    return Running(
        evaporating=b.cold.temperature,
        condensing=b.hot.temperature,
        suction=b.cold.suction,
        discharge=b.hot.discharge,
        superheat=b.evaporator.superheat,
        subcooling=b.condenser.subcooling,
        air_out=circuit.now.air + b.condenser.taken / b.hot.air_heat,
        discharge_line=np.maximum(b.evaporator.inlet + heating - 120.0 * b.wet.carried, b.hot.temperature),
        cooling=b.cooling * circuit.design.cooling,
        power=b.power * circuit.design.cooling,
        power_share=b.power / circuit.rated.power,
        wet=b.wet.share,
        flash=b.wet.flash,
    )
