"""How good ranked explanations are: rank of the truth, shares first and among three, calibration.

What is scored is a list of (code, probability) a visit and the sets that the engine says cannot be separated; where it
comes from is the caller's business. A set counts as right when the truth is in it.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from tests.simulation.units.faults import OUTSIDE_THE_LIST
from tests.simulation.units.truth import Truth

EDGES = (0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.97, 1.0)
CONTINUOUS = 2.576  # 99 % of a normal distribution


@dataclass(frozen=True, slots=True)
class Ranked:
    """The explanations of one visit, likeliest first, and the sets that its readings cannot separate."""

    explanations: tuple[tuple[str, float], ...]
    cannot_separate: tuple[frozenset[str], ...] = ()


@dataclass(frozen=True, slots=True)
class Score:
    """Over many visits."""

    visits: int
    first: float
    first_three: float
    mean_rank: float


@dataclass(frozen=True, slots=True)
class Bin:
    """Probabilities stated in an interval against how often they were right, with the 99 % interval around that."""

    count: int
    stated: float
    right: float
    low: float
    high: float

    @property
    def outside(self) -> float:
        """How far the stated mean lies outside of the interval."""
        return max(self.low - self.stated, self.stated - self.high, 0.0)


def explanations_of(truth: Truth) -> frozenset[str]:
    """The explanations that are right: one a fault; of a sound unit what it is doing."""
    if truth.faults:
        return frozenset("something_else" if code in OUTSIDE_THE_LIST else code for code in truth.faults)
    by_state = {
        "off_without_power": "no_power",
        "powered_idle": "controller_dark_or_not_calling",
        "pulling_down": "still_recovering",
    }
    return frozenset({by_state.get(truth.state, "nothing_wrong")})


def rank(ranked: Ranked, right: frozenset[str]) -> int:
    """The place of the first right explanation; all of a set that cannot be separated have the place of its first."""
    codes = [code for code, _ in ranked.explanations]
    places = {code: place for place, code in enumerate(codes, 1)}
    for together in ranked.cannot_separate:
        best = min((places[code] for code in together if code in places), default=len(codes) + 1)
        places.update({code: min(best, places.get(code, best)) for code in together})
    return min((places[code] for code in right if code in places), default=len(codes) + 1)


def score(pairs: Sequence[tuple[Ranked, frozenset[str]]]) -> Score:
    """How often the truth is first and among the first three."""
    ranks = [rank(ranked, right) for ranked, right in pairs]
    count = max(len(ranks), 1)
    return Score(
        len(ranks),
        sum(place == 1 for place in ranks) / count,
        sum(place <= 3 for place in ranks) / count,
        sum(ranks) / count,
    )


def calibrated(pairs: Iterable[tuple[Ranked, frozenset[str]]], edges: Sequence[float] = EDGES) -> list[Bin]:
    """Each stated probability with whether it was right, in bins."""
    stated = [(share, code in right) for ranked, right in pairs for code, share in ranked.explanations]
    bins = []
    for low, high in pairwise(edges):
        inside = [each for each in stated if low <= each[0] < high or each[0] == high == edges[-1]]
        if inside:
            bins.append(_bin(inside))
    return bins


def _bin(inside: Sequence[tuple[float, bool]]) -> Bin:
    """Wilson's interval."""
    count, right = len(inside), sum(was for _, was in inside) / len(inside)
    square = CONTINUOUS**2
    centre = (right + square / (2 * count)) / (1 + square / count)
    half = CONTINUOUS / (1 + square / count) * (right * (1 - right) / count + square / (4 * count**2)) ** 0.5
    return Bin(count, sum(share for share, _ in inside) / count, right, centre - half, centre + half)


def confusion(pairs: Iterable[tuple[Ranked, frozenset[str]]]) -> Mapping[tuple[str, str], int]:
    """(truth, first explanation) -> visits, of single truths."""
    counts: dict[tuple[str, str], int] = {}
    for ranked, right in pairs:
        if len(right) == 1 and ranked.explanations:
            key = (next(iter(right)), ranked.explanations[0][0])
            counts[key] = counts.get(key, 0) + 1
    return counts
