"""What the compressor does while each group of readings is taken.

A unit that holds its bath runs and rests in turn, and the readings of a visit are minutes apart: the gauges may see it
run and the clamp meter see it stand. After each start the circuit takes minutes to settle, after each stop to equalise
(through a capillary within 7 to 10 minutes: a maker's manual). Each hypothesis is so spread over variants: how far the
circuit is on its way from rest to steady running, and whether the motors run. Weights: common practice, no source.
"""

from dataclasses import dataclass

import numpy as np

from service.domain.triage.channels import INDEX
from service.domain.triage.explanation import REGIMES, RESTING, RUNNING
from service.domain.triage.fluid import Array, Indices
from service.domain.triage.forward import Expected
from service.domain.triage.hypotheses import Hypotheses

CIRCUIT = ("suction", "discharge", "suction_line", "liquid_line", "air_out", "discharge_line", "bend")
MOTORS = ("compressor", "fan")
NEAR = 2.0  # [K] over the set point: the unit cycles


@dataclass(frozen=True, slots=True)
class Variant:
    """Weight, how far the circuit is on its way from rest to steady running, whether the motors run."""

    weight: float
    circuit: float
    motors: bool


CYCLING = (
    Variant(0.62, 1.0, True),
    Variant(0.09, 0.75, True),
    Variant(0.05, 0.4, True),
    Variant(0.09, 1.0, False),
    Variant(0.09, 0.0, True),
    Variant(0.06, 0.3, False),
)
MOSTLY_RESTING = (
    Variant(0.72, 0.0, False),
    Variant(0.12, 0.3, False),
    Variant(0.06, 0.0, True),
    Variant(0.06, 1.0, False),
    Variant(0.04, 1.0, True),
)
ALWAYS = (Variant(0.93, 1.0, True), Variant(0.07, 0.75, True))
NEVER = (Variant(1.0, 0.0, False),)


@dataclass(frozen=True)
class Spread:
    """Hypotheses by variant: their expected values, how far each circuit is, and which cycle."""

    rows: Hypotheses
    values: Array
    circuit: Array
    cycling: Array
    source: Indices


def variants(rows: Hypotheses, found: Expected) -> Spread:
    """Every hypothesis in each of its variants."""
    index, weight, circuit, motors, cycling = [], [], [], [], []
    for n, (regime, node) in enumerate(zip(rows.regime.tolist(), rows.nodes, strict=True)):
        cycles = regime == REGIMES.index(RESTING) or (regime == REGIMES.index(RUNNING) and node.bath < NEAR)
        for each in _of(regime, cycles):
            index.append(n)
            weight.append(each.weight)
            circuit.append(each.circuit)
            motors.append(each.motors)
            cycling.append(cycles)
    at, share, on = np.array(index), np.array(circuit), np.array(motors)
    values = found.resting[:, at]
    for names, part in ((CIRCUIT, share), (MOTORS, on.astype(float)), (("bath_rate",), np.where(cycling, 0.5, 1.0))):
        channels = [INDEX[name] for name in names]
        values[channels] += part[:, None] * (found.running[channels][:, at] - found.resting[channels][:, at])
    regimes = np.where(rows.regime[at] <= REGIMES.index(RESTING), np.where(on, 0.0, 1.0), rows.regime[at])
    taken = rows.take(at, rows.log_prior[at] + np.log(np.array(weight)), regimes)
    return Spread(taken, values, share, np.array(cycling, dtype=float), at)


def _of(regime: float, cycles: bool) -> tuple[Variant, ...]:
    if regime == REGIMES.index(RESTING):
        return MOSTLY_RESTING
    if regime == REGIMES.index(RUNNING):
        return CYCLING if cycles else ALWAYS
    return NEVER
