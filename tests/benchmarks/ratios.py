"""Figures, how they are summed up, and the table they are printed in."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

HEAD = ("what", "median", "lowest..highest", "goal", "", "measured")


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

    def cells(self) -> tuple[str, ...]:
        """The figure as a line of the table."""
        spread = f"{_short(min(self.rounds))}..{_short(max(self.rounds))}" if len(self.rounds) > 1 else ""
        verdict = "" if self.goal is None else "holds" if self.value <= self.goal else "MISSED"
        goal = "" if self.goal is None else f"<= {self.goal:g} {self.unit}"
        return self.what, f"{_short(self.value)} {self.unit}", spread, goal, verdict, self.note


def quantile(values: Iterable[float], share: float) -> float:
    """The value below which this share of all lies."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def table(figures: Sequence[Figure]) -> str:
    """All figures, one a line, in columns."""
    lines = [HEAD, *(figure.cells() for figure in figures)]
    widths = [max(len(line[column]) for line in lines) for column in range(len(HEAD) - 1)]
    return "\n".join(
        "  ".join([*(cell.ljust(width) for cell, width in zip(line[:-1], widths, strict=True)), line[-1]]).rstrip()
        for line in lines
    )


def _short(value: float) -> str:
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"
