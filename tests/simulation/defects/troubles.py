"""What troubles a unit, which parts it harms and by how many defects a year, and what it looks like day by day."""

from dataclasses import dataclass, field
from math import cos, pi

import numpy as np

YEAR = 365.25
HARMS: dict[str, dict[str, float]] = {
    "condenser_fouled": {"power_switch": 1.0, "contactor": 1.0, "compressor": 1.1, "condenser_fan": 1.7,
                         "start_capacitor": 1.4, "temperature_controller": 0.6},
    "switch_undersized": {"power_switch": 2.2, "contactor": 1.9},
    "loose_terminal": {"power_switch": 2.6, "contactor": 2.4},
    "low_voltage": {"compressor": 0.9, "start_capacitor": 1.3, "power_switch": 1.0, "contactor": 1.1, "pump": 0.6},
    "high_voltage": {"temperature_controller": 1.6, "start_capacitor": 1.1, "pump": 0.4, "condenser_fan": 0.4},
    "ambient_hot": {"condenser_fan": 2.2, "temperature_controller": 1.6, "compressor": 0.9, "start_capacitor": 1.2},
    "bath_low": {"pump": 4.0},
    "strainer_blocked": {"pump": 4.0},
    "glycol_strong": {"pump": 2.8},
    "glycol_weak": {"pump": 2.8},
    "unexplained": {"temperature_controller": 2.2, "power_switch": 1.4, "condenser_fan": 0.9},
}  # fmt: skip
"""Defects a year at full harm; `unexplained` is rain in the box."""
SHARES = {
    "condenser_fouled": 7, "switch_undersized": 4, "loose_terminal": 4, "low_voltage": 2, "high_voltage": 1,
    "ambient_hot": 3, "bath_low": 3, "strainer_blocked": 3, "glycol_strong": 2.5, "glycol_weak": 1.5, "unexplained": 2,
}  # fmt: skip
AT_SITES = ("low_voltage", "high_voltage")
GRIME = {"clean": 600.0, "dusty": 320.0, "greasy": 170.0, "outdoor": 350.0}  # days to be fouled by 1 - 1/e


@dataclass(slots=True)
class Trouble:
    """A cause at work from a day to another; `where` is a position's code or empty."""

    cause: str
    start: int
    end: int
    size: float
    where: str = ""
    cost: int = 0


@dataclass(slots=True)
class State:
    """A unit on a day: all that readings show and that does harm."""

    rng: np.random.Generator
    surroundings: str
    volts: float
    room: float
    fouled: float
    overload: str
    troubles: list[Trouble] = field(default_factory=list)
    strainer: float = 0.1
    level: float = 0.95
    strength: float = 0.35
    day: int = 0

    def at(self, cause: str) -> Trouble | None:
        """The trouble if it is there today."""
        return next((t for t in self.troubles if t.cause == cause and t.start <= self.day < t.end), None)

    def season(self) -> float:
        """1 at the end of July, -1 in January."""
        return cos(2 * pi * (self.day - 205) / YEAR)

    def pass_day(self) -> None:
        """Dirt grows, liquid is lost, and what troubles there are begin."""
        self.day += 1
        pace = 75.0 if self.at("condenser_fouled") else GRIME[self.surroundings]
        self.fouled += (1 - self.fouled) / pace
        self.strainer += (1 - self.strainer) / (65.0 if self.at("strainer_blocked") else 700.0)
        self.level = max(0.2, self.level - (0.007 if self.at("bath_low") else 0.0006))
        for cause, strength in (("glycol_strong", 0.53), ("glycol_weak", 0.19)):
            found = self.at(cause)
            if found and found.start == self.day:
                self.strength = strength + self.rng.normal(0, 0.02)

    def supply(self) -> float:
        """Volts at the unit."""
        low, high = self.at("low_voltage"), self.at("high_voltage")
        sag = 0 if low is None else 13 + (6 * self.season() if low.where == "summer" else 3)
        return self.volts - sag + (0 if high is None else 13)

    def air(self) -> float:
        """Air of the room in degC."""
        return self.room + 5 * self.season() + (13 if self.at("ambient_hot") else 0)

    def load(self, amps: float) -> float:
        """What a compressor draws today."""
        return amps * (1 + 0.28 * self.fouled**2 + 0.006 * max(0.0, self.air() - 25))

    def harm(self) -> dict[str, float]:
        """How far each cause does harm today, 0 to 1 and a little over."""
        size = {t.cause: t.size for t in self.troubles if t.start <= self.day < t.end}
        found = {
            "condenser_fouled": max(0.0, self.fouled - 0.5) * 2,
            "strainer_blocked": max(0.0, self.strainer - 0.55) * 2.2,
            "bath_low": max(0.0, 0.7 - self.level) * 2.5,
            "glycol_strong": max(0.0, min(1.0, (self.strength - 0.43) * 10)),
            "glycol_weak": max(0.0, min(1.0, (0.27 - self.strength) * 12)),
            "low_voltage": max(0.0, min(1.2, (108 - self.supply()) / 6)),
            "high_voltage": max(0.0, min(1.2, (self.supply() - 125) / 5)),
            "ambient_hot": max(0.0, min(1.2, (self.air() - 34) / 8)),
        }
        always = {c: 1.0 for c in ("switch_undersized", "loose_terminal", "unexplained") if c in size}
        return {cause: share * size.get(cause, 1.0) for cause, share in (found | always).items() if share > 0}

    def visited(self, found_out: float) -> None:
        """Somebody looked closely: what was understood is mended for good."""
        for trouble in self.troubles:
            if trouble.start <= self.day < trouble.end and self.rng.random() < found_out * (
                0.01 + 0.035 * trouble.cost
            ):
                trouble.end = self.day
                if trouble.cause.startswith("glycol"):
                    self.strength = 0.35
