"""How often what is stated is right: every unit and kind against the truth, and against rules that only count."""

from bisect import bisect_right
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise
from statistics import median

from tests.simulation.replay import Logs, Stated
from tests.simulation.truth import ORDINARY, Failure, Fleet

MONTH = 30.44
NEW_PARTS = ("after_repair", "bad_parts")
HARD = 3  # cause-made failures from which a root cause has to be found
EDGES = (0.0, 0.025, 0.08, 0.15, 0.25, 0.35, 0.5, 0.65, 0.8, 0.9, 1.01)
Pair = tuple[str, str]
Flags = Callable[[Stated], bool]


@dataclass(frozen=True, slots=True)
class Pairs:
    """The truth of a fleet by unit and kind: its cause-made failures by the day on which each was known."""

    caused: Mapping[Pair, Sequence[tuple[date, str]]]
    planted: frozenset[Pair]
    healthy: frozenset[str]
    healthy_years: float

    @property
    def hard(self) -> list[Pair]:
        """Pairs that have to be found."""
        return [pair for pair, made in self.caused.items() if len(made) >= HARD]

    def real(self, pair: Pair, day: date) -> bool:
        """Whether something makes this kind fail: two such failures known by then, one where it was planted."""
        count = bisect_right([known for known, _ in self.caused.get(pair, ())], day)
        return count >= 2 or (count == 1 and pair in self.planted)

    def causes(self, pair: Pair, day: date) -> frozenset[str]:
        """The causes that made most of those failures; more than one where they made as many.

        At one unit bad hands and bad goods look alike: both are new parts that fail within weeks.
        """
        counts = Counter(cause for known, cause in self.caused[pair] if known <= day)
        most = {cause for cause, count in counts.items() if count == max(counts.values())}
        return frozenset(most | set(NEW_PARTS) if most & set(NEW_PARTS) else most)


def pairs_of(fleet: Fleet) -> Pairs:
    """The truth; a failure that nobody recorded cannot be found and does not count."""
    caused: dict[Pair, list[tuple[date, str]]] = defaultdict(list)
    for each in fleet.failures:
        if each.visit and each.cause != ORDINARY:
            caused[each.unit, each.kind].append((known_on(fleet, each), each.cause))
    planted = frozenset((unit, kind) for one in fleet.planted for unit in one.units for kind in one.kinds)
    healthy = frozenset(fleet.watched_from) - fleet.troubled
    return Pairs({pair: sorted(made) for pair, made in caused.items()}, planted, healthy, fleet.healthy_years())


def known_on(fleet: Fleet, failure: Failure) -> date:
    """The day on which a failure was recorded."""
    return fleet.recorded[failure.visit].date()


@dataclass(slots=True)
class Score:
    """What a rule flagged."""

    flags: int = 0
    right: int = 0
    false: int = 0
    hard: int = 0
    caught: int = 0
    named: int = 0
    months: list[float] = field(default_factory=list)
    years: float = 0.0

    @property
    def recall(self) -> float:
        """Share of the pairs with three cause-made failures or more that were flagged while they were real."""
        return self.caught / max(1, self.hard)

    @property
    def false_alarms(self) -> float:
        """Per 1000 healthy unit-years."""
        return 1000 * self.false / max(1.0, self.years)

    def row(self) -> dict[str, float]:
        """The figures by which rules are compared; None stands for nothing flagged."""
        return {
            "flags": self.flags,
            "precision": self.right / max(1, self.flags),
            "recall": self.recall,
            "right cause": self.named / max(1, self.right),
            "false": self.false_alarms,
            "months": median(self.months) if self.months else float("nan"),
        }


def score(pairs: Pairs, rows: Iterable[Stated], flags: Flags) -> Score:
    """The first flag of a pair is right or false; a pair is found when it is flagged while it is real."""
    result = Score(hard=len(pairs.hard), years=pairs.healthy_years)
    flagged: dict[Pair, list[Stated]] = defaultdict(list)
    for each in rows:
        if flags(each):
            flagged[each.unit, each.kind].append(each)
    for pair, found in flagged.items():
        result.flags += 1
        if not pairs.real(pair, found[0].day):
            result.false += pair[0] in pairs.healthy
        else:
            result.right += 1
            result.named += found[0].cause in pairs.causes(pair, found[0].day)
        true = next((each.day for each in found if pairs.real(pair, each.day)), None)
        if true is not None and len(pairs.caused[pair]) >= HARD:
            result.caught += 1
            result.months.append((true - pairs.caused[pair][0][0]).days / MONTH)
    return result


def listed(*tiers: str) -> Flags:
    """Listed in one of these tiers."""
    return lambda each: each.tier in tiers


def counting(logs: Logs, count: int, months: int) -> Flags:
    """So many recorded failures of the kind in the last so many months."""
    failed: dict[Pair, list[date]] = defaultdict(list)
    for tag, log in logs.items():
        for each in log.replaced():
            if each.reason == "failed":
                failed[tag, each.kind].append(each.on)

    def flags(each: Stated) -> bool:
        recent = (0 <= (each.day - day).days < months * MONTH for day in failed[each.unit, each.kind])
        return sum(recent) >= count

    return flags


def best(scores: Iterable[Score], most: float) -> Score:
    """In hindsight: the highest recall at no more false alarms than so many."""
    allowed = [each for each in scores if each.false_alarms <= most]
    return max(allowed, key=lambda each: each.recall, default=Score())


def counting_scores(pairs: Pairs, logs: Logs, rows: Sequence[Stated]) -> list[Score]:
    """All rules of counting."""
    rules = [(count, months) for count in range(2, 9) for months in (3, 6, 9, 12, 18, 24, 36)]
    return [score(pairs, rows, counting(logs, count, months)) for count, months in rules]


def chance_scores(pairs: Pairs, rows: Sequence[Stated]) -> list[Score]:
    """All limits of the stated chance."""
    limits = [0.002, 0.005, *(n / 100 for n in range(1, 100, 2))]
    return [score(pairs, rows, lambda each, limit=limit: each.chance < limit) for limit in limits]


def named(pairs: Pairs, rows: Iterable[Stated]) -> dict[str, Counter[str]]:
    """Of what is listed and real at its last mention: the causes that are named, by the true cause."""
    last = {(each.unit, each.kind): each for each in rows if each.tier}
    found: dict[str, Counter[str]] = defaultdict(Counter)
    for pair, each in last.items():
        if pairs.real(pair, each.day):
            found[" or ".join(sorted(pairs.causes(pair, each.day)))][each.cause] += 1
    return dict(sorted(found.items()))


def wide(fleet: Fleet, rows: Sequence[Stated]) -> dict[tuple[str, str], tuple[int, int]]:
    """By level and cause: how many planted made three failures or more, and at how many a unit is listed with it."""
    listed_with = {(each.unit, each.cause) for each in rows if each.tier}
    made = Counter((each.unit, each.cause) for each in fleet.failures if each.visit)
    found: dict[tuple[str, str], tuple[int, int]] = {}
    for one in fleet.planted:
        if sum(made[unit, one.cause] for unit in one.units) >= HARD:
            hard, seen = found.get((one.level, one.cause), (0, 0))
            seen += any((unit, one.cause) in listed_with for unit in one.units)
            found[one.level, one.cause] = (hard + 1, seen)
    return dict(sorted(found.items()))


def calibration(pairs: Pairs, rows: Iterable[Stated], *, of_listed: bool) -> list[tuple[int, float, float]]:
    """At every replacement, by bin of the chance stated: how many, its mean, the share that really was chance."""
    seen = [
        (each.chance, not pairs.real((each.unit, each.kind), each.day))
        for each in rows
        if each.fresh and bool(each.tier) == of_listed
    ]
    result = []
    for low, high in pairwise(EDGES):
        own = [(chance, was) for chance, was in seen if low <= chance < high]
        if own:
            count = len(own)
            result.append((count, sum(chance for chance, _ in own) / count, sum(was for _, was in own) / count))
    return result
