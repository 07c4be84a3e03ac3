"""Fleets in which a failed pump burns its switch within weeks, for a planted share of pumps; harsh sites fail in all.

Each site's harshness multiplies all its rates alike and makes no order; in spells it comes and goes, as a condenser
fouls and is cleaned. Rates a year are judged.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from service.domain.record.part_replaced import PartReplaced
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.sequences import Sequence, counted, found

START, DAYS = date(2022, 1, 1), 1096
RATES = {"power_switch": 0.20, "pump": 0.15, "temperature_controller": 0.10, "condenser_fan": 0.12, "compressor": 0.04}
TRUE = ("pump", "power_switch")
HARSH = 3.0  # gamma shape of the sites: CV 0.58


@dataclass(frozen=True, slots=True)
class SequencePlan:
    """`share` of pump failures that burn the switch, some `late`; rates times `spells` for 120 days in some units."""

    share: float = 0.1
    late: bool = False
    spells: float = 1.0
    spelled: float = 1.0
    unrecorded: float = 0.0


def sequence_fleet(size: int, seed: int, plan: SequencePlan) -> Iterator[FailureHistory]:
    """So many units of three years, one at a time."""
    rng = np.random.default_rng(seed)
    return (_unit(f"GU-{i:05d}", rng, plan) for i in range(size))


def _unit(tag: str, rng, plan: SequencePlan) -> FailureHistory:
    harsh, level = rng.gamma(HARSH, 1 / HARSH), np.ones(DAYS)
    spell = int(rng.integers(0, DAYS - 120))
    level[spell : spell + 120] = plan.spells if rng.random() < plan.spelled else 1.0
    days = {kind: np.flatnonzero(rng.random(DAYS) < rate / 365.25 * harsh * level) for kind, rate in RATES.items()}
    burnt = [day + _delay(rng, plan) for day in days["pump"] if rng.random() < plan.share]
    days["power_switch"] = np.array([*days["power_switch"], *burnt], dtype=int)
    events = (
        _failed(kind, START + timedelta(days=int(d)))
        for kind, each in days.items()
        for d in each
        if d < DAYS and rng.random() >= plan.unrecorded
    )
    return FailureHistory(tag, START, START + timedelta(days=DAYS - 1), replaced=tuple(events))


def _failed(kind: str, day: date) -> PartReplaced:
    return PartReplaced(f"{kind}-1", kind, day, "failed", "broken", "seen", "us", f"{kind} on {day}")


def _delay(rng, plan: SequencePlan) -> int:
    """Within the window, or as a contact loosens: 12 days on average, one in twelve after the window."""
    return 1 + int(rng.exponential(12)) if plan.late else int(rng.integers(1, 31))


def measured_sequences(fleets: int, size: int, seed: int, plan: SequencePlan) -> dict[str, float]:
    """How often the planted pair stands, the share of all others that do, and the pair's mean of seen and expected."""
    stated = [found(counted(sequence_fleet(size, seed + k, plan))) for k in range(fleets)]
    planted = [next((each for each in one if _pair(each) == TRUE), None) for one in stated]
    false = sum(each.stands and (plan.share == 0 or _pair(each) != TRUE) for one in stated for each in one)
    looked_at = fleets * (len(RATES) * (len(RATES) - 1) - (plan.share > 0))
    return {
        "found": sum(bool(each and each.stands) for each in planted) / fleets,
        "false": false / looked_at,
        "observed": sum(each.observed for each in planted if each) / fleets,
        "expected": sum(each.expected for each in planted if each) / fleets,
    }


def _pair(each: Sequence) -> tuple[str, str]:
    return each.after, each.kind


ROWS = {
    "nothing planted": SequencePlan(0.0), "one in ten": SequencePlan(0.1), "one in five": SequencePlan(0.2),
    "three in ten": SequencePlan(0.3), "one in ten, later": SequencePlan(0.1, late=True),
    "one in ten, a fifth unrecorded": SequencePlan(0.1, unrecorded=0.2),
    "spells of 8 in a tenth": SequencePlan(0.0, spells=8.0, spelled=0.1),
    "the same, one in ten": SequencePlan(0.1, spells=8.0, spelled=0.1),
    "spells of 6 in all": SequencePlan(0.0, spells=6.0),
}  # fmt: skip


def main_sequences(size: int = 300, fleets: int = 20, seed: int = 20260701) -> None:
    """Print the table: fresh fleets a row."""
    for name, plan in ROWS.items():
        stated = measured_sequences(fleets, size, seed, plan)
        print(f"{name:30} " + "  ".join(f"{key} {value:.3g}" for key, value in stated.items()), flush=True)
