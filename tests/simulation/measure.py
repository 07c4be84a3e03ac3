"""What a rule finds, failure by failure in the order of time, and how often it is right."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import pairwise

from service.domain.root_causes.baselines import defaults
from service.domain.root_causes.engine import root_causes_of
from service.domain.statistics.rates import chance_of
from tests.simulation.plan import BASE, CAUSE, DAYS, START, YEAR, Made
from tests.simulation.values import learned_of

Stated = tuple[float, str]  # the chance that a rule sees, and the cause it names
Rule = Callable[[Made, str, date], Stated | None]
YEARS = DAYS / YEAR
HEALTHY = ("base", "repeat")


def counting(count: int) -> Rule:
    """So many of the same part in 12 months."""

    def rule(made: Made, kind: str, day: date) -> Stated | None:
        recent = [d for k, d, _ in made.origins if k == kind and 0 <= (day - d).days < 365]
        return (0.0, "") if len(recent) >= count else None

    return rule


def poisson(made: Made, kind: str, day: date) -> Stated | None:
    """An exact Poisson test against the true base rate."""
    count = sum(k == kind and d <= day for k, d, _ in made.origins)
    years = max(1, (day - START).days) / YEAR
    return (0.0, "") if chance_of(count, expected=BASE[kind] * years) < 0.01 else None


def cusum(made: Made, kind: str, day: date) -> Stated | None:
    """Page's cumulative sum for a fourfold rate, alarm above 3.4."""
    level, last = 0.0, START
    for when in sorted(d for k, d, _ in made.origins if k == kind and d <= day):
        level = max(0.0, level - 3.0 * BASE[kind] * (when - last).days / YEAR) + 1.3862943611
        last = when
    return (0.0, "") if level > 3.4 else None


def engine(fleet: Sequence[Made]) -> Rule:
    """The engine as it works day by day: what it knows of the fleet is learned quarterly from the past only."""
    quarter = timedelta(days=91)
    learned = {
        START + quarter * n: learned_of(
            (made.history.until(START + quarter * n) for made in fleet), START + quarter * n
        )
        for n in range(1, 1 + DAYS // 91)
    }

    def rule(made: Made, kind: str, day: date) -> Stated | None:
        known = max((when for when in learned if when <= day), default=None)
        found = root_causes_of(made.history, learned[known] if known else defaults(), day)
        own = next((each for each in found if each.component_kind == kind), None)
        return (own.probability_of_chance, own.causes[0].cause) if own else None

    return rule


@dataclass(slots=True)
class Tally:
    """Counts of flags; `bins` holds (chance stated, whether it was chance) of all that a rule stated."""

    flags: int = 0
    true: int = 0
    right: int = 0
    named: int = 0
    false: int = 0
    hard: int = 0
    caught: int = 0
    blamed: int = 0
    months: list[float] = field(default_factory=list)
    bins: list[tuple[float, bool]] = field(default_factory=list)
    healthy_years: float = 0.0

    def row(self) -> dict[str, float]:
        """The figures by which rules are compared."""
        return {
            "flags": self.flags,
            "precision": self.true / max(1, self.flags),
            "recall3": self.caught / max(1, self.hard),
            "cause": self.right / max(1, self.named),
            "false/1000": 1000 * self.false / max(1.0, self.healthy_years),
            "months": sorted(self.months)[len(self.months) // 2] if self.months else float("nan"),
        }


def decisions(fleet: Sequence[Made], rule: Rule) -> list[tuple[Made, str, list[tuple[date, str, Stated | None]]]]:
    """What a rule says at every failure of every unit and kind: (day, origin, stated)."""
    stated = []
    for made in fleet:
        for kind in BASE:
            own = sorted((d, o) for k, d, o in made.origins if k == kind)
            if own:
                stated.append((made, kind, [(day, origin, rule(made, kind, day)) for day, origin in own]))
    return stated


def tallied(fleet: Sequence[Made], stated: list, below: float) -> Tally:
    """Count the first flag of every pair at which chance is stated to be below a limit."""
    tally = Tally(healthy_years=YEARS * sum(made.planted == "none" for made in fleet))
    for made, _, rows in stated:
        hard = sum(origin not in HEALTHY for _, origin, _ in rows) >= 3
        tally.hard += hard
        for index, (day, _, answer) in enumerate(rows):
            if answer is None or answer[0] >= below:
                continue
            _flag(tally, made, rows[: index + 1], answer[1], day)
            tally.caught += hard
            break
    return tally


def calibrated(stated: list, edges: Sequence[float]) -> list[tuple[int, float, float]]:
    """By bin of the chance stated: how many, its mean, the share that really was chance."""
    seen = [
        (answer[0], not _real(made, rows[: index + 1]))
        for made, _, rows in stated
        for index, (_, _, answer) in enumerate(rows)
        if answer
    ]
    result = []
    for low, high in pairwise(edges):
        own = [(chance, was) for chance, was in seen if low <= chance < high]
        if own:
            result.append(
                (len(own), sum(chance for chance, _ in own) / len(own), sum(was for _, was in own) / len(own))
            )
    return result


def _real(made: Made, rows: list[tuple[date, str, Stated | None]]) -> bool:
    caused = sum(origin not in HEALTHY for _, origin, _ in rows)
    return caused >= 2 or (made.planted != "none" and caused >= 1)


def _flag(tally: Tally, made: Made, rows: list[tuple[date, str, Stated | None]], cause: str, day: date) -> None:
    tally.flags += 1
    if not _real(made, rows):
        tally.false += made.planted == "none"
        return
    tally.true += 1
    causes = [origin for _, origin, _ in rows if origin not in HEALTHY]
    first = next(d for d, origin, _ in rows if origin not in HEALTHY)
    tally.months.append((day - first).days / 30.44)
    tally.named += 1
    tally.right += cause == CAUSE[max(sorted(set(causes)), key=causes.count)]
