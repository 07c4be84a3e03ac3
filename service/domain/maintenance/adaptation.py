"""How the fouling found changes an interval.

The interval starts as the task's own, times the factor for the site's surroundings. Then each find is applied in the
order of the days:

* heavy: x 0.75;
* blocked: x 0.5;
* light: unchanged, and a run of clean finds ends (as with heavy and blocked);
* clean twice in a row: x 1.25, and the run starts again.

At the start and after every step the length is kept between the task's shortest and longest.

The factors are common practice, no source. The shape follows, from memory, the inspection rule of ASHRAE/ACCA Standard
180: unacceptable at successive inspections, look more often; acceptable several times in a row, less often is allowed.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from service.domain.maintenance.tasks import FOULING, Interval, Task

FACTORS: Mapping[str, float] = MappingProxyType({"heavy": 0.75, "blocked": 0.5})
CLEAN_RUN, CLEAN_RUN_FACTOR = 2, 1.25


@dataclass(frozen=True, slots=True)
class Adapted:
    """The interval to use and why.

    `interval` is the task's own while nothing changes it, so that months stay calendar months; a changed one is in
    days. `by_finds`: the finds changed it, not the surroundings alone. `reasons`: what was applied, as text.
    `sentence` says all of it, `text` is the interval as text.
    """

    interval: Interval
    by_finds: bool
    reasons: tuple[str, ...]
    text: str
    sentence: str


# A fleet has few different histories; the bound keeps the keys of a few megabytes at most.
@lru_cache(maxsize=2048)
def adapt(task: Task, finds: tuple[str, ...], surroundings: str | None) -> Adapted:
    """The interval of `task` after `finds`, the as-found codes from the oldest to the latest, in these `surroundings`.

    A task that does not adapt ignores the finds. Raises ValueError for a task that has no interval.
    """
    if task.interval is None or task.shortest is None or task.longest is None:
        raise ValueError(f"{task.code} has no interval to adapt.")
    factor = dict(task.surroundings).get(surroundings or "", 1.0)
    shortest, longest = task.shortest.days, task.longest.days
    own = task.interval.days * factor
    start = min(max(own, shortest), longest)
    length, counts, wished = _walk(finds if task.adapts else (), own, shortest=shortest, longest=longest)
    by_finds = round(length) != round(start)
    interval = task.interval if factor == 1.0 and not by_finds else Interval(round(length), "day")
    reasons = (
        *_factor_reason(factor, surroundings),
        *_find_reasons(counts),
        *_limit_reason(wished, shortest=shortest, longest=longest),
    )
    return Adapted(interval, by_finds, reasons, str(interval), _sentence(task.interval, interval, reasons))


def _walk(finds: Iterable[str], wished: float, *, shortest: int, longest: int) -> tuple[float, dict[str, int], float]:
    """Length in days after the finds, how often each code changed it, and the length before the last limit."""
    length = min(max(wished, shortest), longest)
    counts = {"clean": 0, "heavy": 0, "blocked": 0}
    for find, factor in _steps(finds):
        wished = length * factor
        held = min(max(wished, shortest), longest)
        if held != length:
            counts[find] += 1
            length = held
    return length, counts, wished


def _steps(finds: Iterable[str]) -> Iterator[tuple[str, float]]:
    """The finds that change the length, each with its factor."""
    run = 0
    for find in finds:
        run = run + 1 if find == "clean" else 0
        if run == CLEAN_RUN:
            run = 0
            yield find, CLEAN_RUN_FACTOR
        elif find in FACTORS:
            yield find, FACTORS[find]


def _factor_reason(factor: float, surroundings: str | None) -> tuple[str, ...]:
    return () if factor == 1.0 else (f"x {round(factor, 2):g} for {surroundings} surroundings",)


def _find_reasons(counts: Mapping[str, int]) -> Iterator[str]:
    for find in FACTORS:
        if counts[find]:
            yield f"shortened{_times(counts[find])} because {FOULING[find]}"
    if counts["clean"]:
        yield f"lengthened{_times(counts['clean'])} because clean twice in a row"


def _times(count: int) -> str:
    return "" if count == 1 else f" {count} times"


def _limit_reason(wished: float, *, shortest: int, longest: int) -> tuple[str, ...]:
    if wished < shortest:
        return ("limited to the shortest allowed",)
    return ("limited to the longest allowed",) if wished > longest else ()


def _sentence(own: Interval, used: Interval, reasons: Iterable[str]) -> str:
    result = "" if used is own else f": {used}"
    return ", ".join((f"Interval {own}", *reasons)) + result + "."
