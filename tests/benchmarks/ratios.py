"""Figures, how they are summed up, and the lines they are printed in."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from statistics import median

HEAD = ("what", "median", "lowest..highest", "former", "goal", "", "measured")
WIDTHS = (72, 9, 15, 9, 9, 6)
PRINTED = re.compile(r"(\S.*?) {2,}([\d.e+-]+) (x|s|ms|MB)(?: |$)")


@dataclass(frozen=True, slots=True)
class Figure:
    """One measured figure: a value for each round, its unit ("x" is a multiple of the floor), and the most allowed."""

    what: str
    rounds: tuple[float, ...]
    unit: str = "x"
    goal: float | None = None
    note: str = ""

    @property
    def value(self) -> float:
        """The median of the rounds."""
        return median(self.rounds)

    @property
    def missed(self) -> bool:
        """Whether it is beyond its goal."""
        return self.goal is not None and self.value > self.goal

    def joined(self, later: "Figure") -> "Figure":
        """With the rounds of a later turn."""
        return replace(later, rounds=self.rounds + later.rounds)

    def line(self, former: "Figure | None" = None) -> str:
        """The figure as a line of the table, with that of another commit beside it."""
        spread = f"{_short(min(self.rounds))}..{_short(max(self.rounds))}" if len(self.rounds) > 1 else ""
        verdict = "" if self.goal is None else "MISSED" if self.missed else "holds"
        goal = "" if self.goal is None else f"<= {self.goal:g} {self.unit}"
        return line(self.what, self.shown, spread, former.shown if former else "", goal, verdict, self.note)

    @property
    def shown(self) -> str:
        """The median with its unit."""
        return f"{_short(self.value)} {self.unit}"


def line(*cells: str) -> str:
    """Cells in columns."""
    *columns, last = cells
    return "  ".join([*(cell.ljust(width) for cell, width in zip(columns, WIDTHS, strict=True)), last]).rstrip()


def printed(table: str) -> Iterator[Figure]:
    """The medians of a printed table."""
    for found in filter(None, map(PRINTED.match, table.splitlines())):
        yield Figure(found[1], (float(found[2]),), unit=found[3])


def quantile(values: Iterable[float], share: float) -> float:
    """The value below which this share of all lies."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def _short(value: float) -> str:
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"
