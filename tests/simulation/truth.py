"""A fleet as lines of an import, and beside it what really happened: which parts failed, and what made each fail."""

from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any

Line = dict[str, Any]
ORDINARY = ""
"""The cause of a failure that nothing planted and no fault made."""


@dataclass(frozen=True, slots=True)
class Plan:
    """What is planted and how well it is recorded; shares between 0 and 1, `rate` multiplies ordinary failures."""

    planted: bool = True
    rate: float = 1.0
    missing: float = 0.2
    unlogged: float = 0.1
    no_nameplate: float = 0.1
    wrong_reasons: float = 0.05
    precautions: float = 0.08
    unrecorded: float = 0.04


DAMAGED = Plan(missing=0.5, unlogged=0.4, no_nameplate=0.6, wrong_reasons=0.2, precautions=0.3)


@dataclass(frozen=True, slots=True)
class Failure:
    """One part that really failed; `visit` is the visit that recorded it, empty where none did."""

    unit: str
    kind: str
    component: str
    day: date
    cause: str
    visit: str


@dataclass(frozen=True, slots=True)
class Planted:
    """A root cause that was planted: at a `unit`, a `site`, a `model` or a `technician`, named by `key`."""

    level: str
    key: str
    cause: str
    kinds: tuple[str, ...]
    units: frozenset[str]


@dataclass(slots=True)
class Fleet:
    """Lines of an import, the instant at which each visit was recorded, and the truth."""

    lines: list[Line] = field(default_factory=list)
    recorded: dict[str, datetime] = field(default_factory=dict)
    failures: list[Failure] = field(default_factory=list)
    planted: list[Planted] = field(default_factory=list)
    watched_from: dict[str, date] = field(default_factory=dict)
    end: date = date(2025, 1, 1)

    @property
    def troubled(self) -> frozenset[str]:
        """The units at which anything is planted."""
        return frozenset().union(*(each.units for each in self.planted))

    def only(self, tags: frozenset[str]) -> "Fleet":
        """Some of its units, with what is known and true of them."""
        return Fleet(
            lines=[line for line in self.lines if line.get("unit", line.get("tag")) in {None, *tags}],
            recorded=self.recorded,
            failures=[each for each in self.failures if each.unit in tags],
            planted=[replace(each, units=each.units & tags) for each in self.planted if each.units & tags],
            watched_from={tag: day for tag, day in self.watched_from.items() if tag in tags},
            end=self.end,
        )

    def healthy_years(self) -> float:
        """Unit-years under our care of units at which nothing is planted."""
        own = self.troubled
        return sum((self.end - day).days for tag, day in self.watched_from.items() if tag not in own) / 365.25
