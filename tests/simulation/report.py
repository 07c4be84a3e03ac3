"""The tables of a generator: what is stated of its fleets, in large and small companies and from damaged records."""

from collections.abc import Callable, Iterator, Mapping
from datetime import date

from service.domain.root_causes.baselines import Baselines
from tests.simulation.replay import Logs, Stated, learned, logs_of, stated
from tests.simulation.truth import DAMAGED, Fleet, Plan
from tests.simulation.verdicts import (
    Pairs,
    Score,
    best,
    calibration,
    chance_scores,
    counting,
    counting_scores,
    listed,
    named,
    pairs_of,
    score,
    wide,
)

Make = Callable[[int, int, Plan], Fleet]
START = date(2022, 1, 1)
QUARTER = 91
TIERS = {"watch": ("watch", "probable", "strong"), "probable": ("probable", "strong"), "strong": ("strong",)}
BUDGETS = (1.5, 5.0)  # false alarms per 1000 healthy unit-years
ROWS = {"as recorded": Plan(), "none planted, rate 2": Plan(planted=False, rate=2.0), "damaged": DAMAGED}
SHOPS = (1, 3, 10, 25)


def main(name: str, make: Make, units: int, seed: int) -> None:
    """Print the tables of one generator."""
    for row, plan in ROWS.items():
        for line in _of_fleet(row, make(units, seed, plan)):
            print(f"{name:7}{line}", flush=True)
    fleet = make(units, seed, Plan())
    for line in _of_shops(fleet):
        print(f"{name:7}{line}", flush=True)


def _of_fleet(row: str, fleet: Fleet) -> Iterator[str]:
    logs, pairs = logs_of(fleet), pairs_of(fleet)
    rows = list(stated(logs, logs, learned(logs, START, fleet.end, QUARTER)))
    yield from _of_tiers(row, pairs, rows)
    counted = counting_scores(pairs, logs, rows)
    limits = chance_scores(pairs, rows)
    yield _line(row, "two in 12", score(pairs, rows, counting(logs, 2, 12)))
    for most in BUDGETS:
        ours, theirs = best(limits, most), best(counted, most)
        ratio = ours.recall / max(0.001, theirs.recall)
        shown = f"recall {ours.recall:.2f}, best counting rule {theirs.recall:.2f}, ratio {ratio:.2f}"
        yield f"{row:22}at most {most} false alarms: {shown}"
    for of_listed in (True, False):
        bins = calibration(pairs, rows, of_listed=of_listed)
        shown = ", ".join(f"{mean:.2f} -> {share:.2f} ({count})" for count, mean, share in bins)
        yield f"{row:22}chance {'listed' if of_listed else 'not listed'}: {shown}"
    for cause, counts in named(pairs, rows).items():
        yield f"{row:22}named where it is {cause}: {', '.join(f'{each} {n}' for each, n in counts.most_common())}"
    for (level, cause), (hard, seen) in wide(fleet, rows).items():
        yield f"{row:22}{cause} planted at a {level}: {hard}, listed at one of its units: {seen}"


def _of_shops(fleet: Fleet) -> Iterator[str]:
    """The same units as companies of a few units, each of which knows only its own."""
    logs, pairs = logs_of(fleet), pairs_of(fleet)
    for size in SHOPS:
        rows: list[Stated] = []
        tags = sorted(logs)
        for first in range(0, len(tags), size):
            own: Logs = {tag: logs[tag] for tag in tags[first : first + size]}
            known: Mapping[date, Baselines] = learned(own, START, fleet.end, 2 * QUARTER)
            rows += stated(own, own, known)
        yield from _of_tiers(f"shops of {size}", pairs, rows)


def _of_tiers(row: str, pairs: Pairs, rows: list[Stated]) -> Iterator[str]:
    for tier, included in TIERS.items():
        yield _line(row, tier, score(pairs, rows, listed(*included)))


def _line(row: str, rule: str, one: Score) -> str:
    shown = "  ".join(f"{key} {value:.3g}" for key, value in one.row().items())
    return f"{row:22}{rule:10} {shown}  of {one.hard}"
