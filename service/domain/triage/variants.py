"""What the compressor does while each group of readings is taken.

A unit that holds its bath runs and rests in turn, and the readings of a visit are minutes apart: the gauges may see it
run and the clamp meter see it stand. After each start the circuit takes minutes to settle, after each stop to equalise
(through a capillary within 7 to 10 minutes: a maker's manual). Each hypothesis is so spread over variants: how far the
circuit is on its way from rest to steady running, and whether the motors run. Weights: common practice, no source.
"""

from dataclasses import dataclass

import numpy as np

from service.domain.triage.channels import INDEX
from service.domain.triage.explanation import REGIMES, RESTING, RUNNING, Node
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
    chosen = [(n, each) for n, node in enumerate(rows.nodes) for each in _of(node)]
    at = np.array([n for n, _ in chosen])
    weight, share, on = np.array([(each.weight, each.circuit, each.motors) for _, each in chosen]).T
    cycling = np.array([_cycles(node) for node in rows.nodes], dtype=float)[at]
    values = found.resting[:, at]
    for names, part in ((CIRCUIT, share), (MOTORS, on), (("bath_rate",), 1.0 - 0.5 * cycling)):
        channels = [INDEX[name] for name in names]
        values[channels] += part[:, None] * (found.running[channels][:, at] - found.resting[channels][:, at])
    now = np.where(on > 0.0, REGIMES.index(RUNNING), REGIMES.index(RESTING))
    regimes = np.where(rows.can_run[at], now, rows.regime[at])
    taken = rows.take(at, rows.log_prior[at] + np.log(weight), regimes)
    return Spread(taken, values, share, cycling, at)


def _cycles(node: Node) -> bool:
    return node.regime == RESTING or (node.regime == RUNNING and node.bath < NEAR)


def _of(node: Node) -> tuple[Variant, ...]:
    if node.regime == RESTING:
        return MOSTLY_RESTING
    if node.regime == RUNNING:
        return CYCLING if _cycles(node) else ALWAYS
    return NEVER
