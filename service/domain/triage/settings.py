"""The settings of a unit that no record gives, each with the range it is drawn from.

Every setting is drawn at its middle plus and minus one standard deviation, by a two-level design of 24 runs in which
all columns are orthogonal (Plackett and Burman, Biometrika 33 (1946) 305): means and covariances of whatever depends
on them linearly come out exactly, without chance, from 24 runs of the model.

Middles and spreads: common practice, no source, but for what `capacity` gives (bath over evaporator, clean split), and
the range of the clean split in print (20 to 40 degF).
"""

from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType

import numpy as np

from service.domain.triage.fluid import Array

RUNS = 24
GENERATOR = (
    "+++++-+-++--++--+-+----"  # first row of the design of 24 runs, from memory; a test checks that it is orthogonal
)

# name: (middle, standard deviation)
SETTINGS: dict[str, tuple[float, float]] = {
    "approach": (6.9, 1.1),  # [K] bath over evaporating, where rated
    "split": (0.0, 0.8),  # [K] over the recorded clean split
    "superheat": (6.0, 2.0),  # [K] where rated
    "subcooling": (4.8, 1.6),  # [K] where rated
    "rise_share": (0.60, 0.10),  # air rise over split
    "in_condenser": (0.27, 0.09),  # of the charge, a unit of flooded transfer
    "charge": (0.0, 0.04),
    "air_flow": (-0.03, 0.05),
    "opening": (0.0, 0.05),
    "capacity": (1.0, 0.07),
    "bath": (0.0, 1.0),  # in standard deviations of what is known about the bath
    "air": (0.0, 1.0),  # the same of the air into the condenser
    "control": (0.0, 1.0),  # with and without head-pressure control
    "load": (0.48, 0.18),  # of the rated cooling
    "rise": (1.3, 0.55),  # [K] over the loop
    "voltage": (1.03, 0.05),  # of the nameplate's: a service of 120 V, or of 208 V, for motors of 115 V and 230 V
    "cooler": (275.6, 0.9),  # [K] 36.4 degF
    "keg": (0.3, 0.5),  # [K] over the cooler
    "trunk": (22.0, 8.0),  # [m] of trunk in which flowing beer comes within 1/e of the glycol
    "first": (0.33, 0.2),  # share of the glass that stood in the line
    "compressor": (0.68, 0.10),  # of the rated current, at the rated point
    "fan": (0.80, 0.11),
    "pump": (0.80, 0.09),
}
WIDER_SPLIT = 2.5  # [K] where no clean split is recorded
CONTROL_FLOOR = 303.0  # [K]


@lru_cache(maxsize=1)
def design() -> Array:
    """The design: RUNS rows, a column of +1 and -1 for each setting."""
    first = [1.0 if sign == "+" else -1.0 for sign in GENERATOR]
    rows = [first[-k:] + first[:-k] for k in range(RUNS - 1)]
    return np.array([*rows, [-1.0] * (RUNS - 1)])


@lru_cache(maxsize=2)
def draws(*, split_known: bool) -> Mapping[str, Array]:
    """Every setting over the runs."""
    columns = design()
    found = {name: middle + sd * columns[:, n] for n, (name, (middle, sd)) in enumerate(SETTINGS.items())}
    if not split_known:
        found["split"] = found["split"] * (WIDER_SPLIT / SETTINGS["split"][1])
    for each in found.values():
        each.flags.writeable = False
    return MappingProxyType(found)
