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

from dataclasses import dataclass

import numpy as np

from service.domain.triage.balance import CARRIED, SHELL_LOSS, Circuit, Design, Now, wet_share
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
    found = newton(circuit.residuals, start, lower, upper)
    return _running(circuit, *found)


def _running(circuit: Circuit, cold: Array, hot: Array, wet: Array) -> Running:
    b = circuit.balance(cold, hot, wet)
    heating = b.cold.inlet * b.compressed.heating / circuit.design.efficiency * (1.0 - SHELL_LOSS)
    carried = np.maximum(wet - 1.0, 0.0) * CARRIED * 120.0
    return Running(
        evaporating=cold,
        condensing=hot,
        suction=b.suction,
        discharge=b.discharge,
        superheat=b.cold.superheat,
        subcooling=b.hot.subcooling,
        air_out=circuit.now.air + b.hot.taken / b.hot.air_heat,
        discharge_line=np.maximum(b.cold.inlet + heating - carried, hot),
        cooling=b.cooling,
        power=b.power,
        power_share=b.power / circuit.rated.power,
        wet=wet,
        flash=b.hot.flash,
    )
