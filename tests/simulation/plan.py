"""How a fleet is made, and what is known of it: the truth beside the record."""

from dataclasses import dataclass
from datetime import date

from service.domain.root_causes.history import FailureHistory

START, DAYS = date(2022, 1, 1), 1096
YEAR = 365.25
# failures a year of a healthy part, judged
BASE = {
    "power_switch": 0.20, "pump": 0.15, "temperature_controller": 0.10, "condenser_fan": 0.12, "compressor": 0.04,
}  # fmt: skip
CAUSE = {"dirty": "condenser_fouled", "under": "switch_undersized", "weak": "glycol_weak", "odd": "unexplained"}
PLANTED = {"none": 0.86, "dirty": 0.05, "weak": 0.04, "under": 0.03, "odd": 0.02}


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Shares of readings not taken and of cleanings not written down, the spread of units, and the hazard's shape.

    Further shares of what is wrong in the record: switches without a nameplate, reasons, sound parts put in as well.
    """

    planted: bool = True
    missing: float = 0.25
    unlogged: float = 0.08
    rate: float = 1.0
    spread: float = 0.5
    repeats: float = 0.0
    hazard: str = "ramp"
    no_nameplate: float = 0.0
    wrong_reasons: float = 0.0
    precautions: float = 0.0


DAMAGED = {"missing": 0.5, "unlogged": 0.4, "no_nameplate": 0.6, "wrong_reasons": 0.2, "precautions": 0.3}


@dataclass(frozen=True, slots=True)
class Truth:
    """A unit as it was: days as numbers from the start, states by day."""

    tag: str
    planted: str
    visits: tuple[int, ...]
    cleaned: tuple[int, ...]
    fouled: "object"
    strength: "object"
    failures: tuple[tuple[int, str, str], ...]
    """(day, component kind, what made it: base, repeat or the planted cause)."""


@dataclass(frozen=True, slots=True)
class Made:
    """A unit's history, what was planted, and per failure (kind, day, origin)."""

    history: FailureHistory
    planted: str
    origins: tuple[tuple[str, date, str], ...]
