"""How the fouling found changes an interval.

The interval starts as the task's own, times the factor for the site's surroundings. Then each grade is judged, in the
order of the days, by the days in service: since the last time the task was done, before that since the installation,
without the days of pauses and closures.

* heavy: the interval, or the days in service where they were more, x 0.75; blocked: x 0.5. So fouling after much longer
  than the interval says that the interval was not kept, not that it is too long, and leaves it. Fouling earlier than
  that result shortens to the days in service. Where nobody knows how long it was in service, it changes nothing.
* light: unchanged, and a run of clean grades ends (as with heavy and blocked).
* clean after at least three quarters of the interval, twice in a row: x 1.25, and the run starts again. Clean earlier,
  or seen again before another three quarters have passed, says nothing.

At the start and after every step the length is kept between the task's shortest and longest, in whole days.

So it goes by the rule `stepped`. By the rule `learned` the interval ends where the chance of finding it heavily fouled
reaches the task's level (`fouling`), as soon as the unit has a grade after known days in service; until then it is the
task's own for the surroundings. By the rule `calendar` grades change nothing.

The factors are common practice, no source. The shape follows, from memory, the inspection rule of ASHRAE/ACCA Standard
180: unacceptable at successive inspections, look more often; acceptable several times in a row, less often is allowed.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import NamedTuple

from service.domain.maintenance.fouling import Fouling, days_until
from service.domain.maintenance.interval_words import grade_reasons, interval_sentence, learned_reason, limit_reason
from service.domain.maintenance.tasks import CALENDAR, LEARNED, Interval, Task
from service.domain.messages import gettext, term
from service.domain.record.pauses import Span, days_served

FACTORS: Mapping[str, float] = MappingProxyType({"heavy": 0.75, "blocked": 0.5})
CLEAN_RUN, CLEAN_RUN_FACTOR = 2, 1.25
TRIED = 0.75  # of the interval, after which a clean grade says something about it
LARGEST_DENOMINATOR = 12  # of a factor that is shown as a fraction


class Grade(NamedTuple):
    """What was found on a day: `as_found`, None where none was recorded; `done`: the task was done then.

    Not `exact`: it was done on this day or later, so that the days in service after it are not known.
    """

    on: date
    as_found: str | None
    done: bool
    exact: bool = True


@dataclass(frozen=True, slots=True)
class Adapted:
    """The interval to use and why.

    `interval` is the task's own while nothing changes it, and in months wherever that is a whole number of them, so
    that months stay calendar months; else it is in days. `by_grades`: the grades changed it, not the surroundings
    alone. `reasons`: what was applied, as text. `text` is the interval as text, `sentence` says all of it.
    """

    interval: Interval
    by_grades: bool
    reasons: tuple[str, ...]
    text: str
    sentence: str


def adapt(
    task: Task,
    grades: Sequence[Grade],
    surroundings: str | None,
    in_service_from: date | None,
    away: Sequence[Span] = (),
    fouling: Fouling | None = None,
) -> Adapted:
    """The interval of `task` after `grades` in order of their days, one a day, in these `surroundings`.

    `in_service_from` is the day of the installation, `away` are days out of service, `fouling` is what the fleet shows
    of such units. A task that does not adapt, or goes by the calendar, ignores the grades. Raises ValueError for a task
    that has no interval.
    """
    if task.rule == LEARNED:
        found = found_after(task, grades, in_service_from, away)
        return _learned(task, found, surroundings, fouling) if found else _unchanged(task, surroundings)
    if not task.adapts or task.rule == CALENDAR or not any(grade.as_found for grade in grades):
        return _unchanged(task, surroundings)
    start, start_days, shortest, longest, wished, reason = _published(task, surroundings)
    served = list(days_in_service(grades, in_service_from, away))
    length, wished, steps = _walk(grades, served, away, (start_days, wished), shortest=shortest, longest=longest)
    by_grades = length != start_days
    reasons = (*reason, *grade_reasons(steps), *limit_reason(wished, shortest=shortest, longest=longest))
    return _adapted(task.interval, Interval(length, "day") if by_grades else start, by_grades, reasons)


def days_in_service(
    grades: Sequence[Grade], in_service_from: date | None, away: Sequence[Span] = ()
) -> Iterator[int | None]:
    """For each grade the days in service since the task was last done before it, at first since the installation."""
    since = in_service_from
    for grade in grades:
        on = grade.on
        if since is None or since > on:
            yield None
        else:
            yield days_served(since, on, away)
        if grade.done:
            since = on if grade.exact else None


def found_after(
    task: Task, grades: Sequence[Grade], in_service_from: date | None, away: Sequence[Span] = ()
) -> tuple[tuple[int, str], ...]:
    """Each grade with the days in service after which it was found, where these are known.

    Long after the installation nobody knows whether it was done before there were records.
    """
    longest, recorded = _limits(task)[1], False
    found: list[tuple[int, str]] = []
    for each, days in zip(grades, days_in_service(grades, in_service_from, away), strict=True):
        if each.as_found and days and (recorded or days <= longest):
            found.append((days, each.as_found))
        recorded = recorded or each.done
    return tuple(found)


def usual_fouling(task: Task, surroundings: str | None) -> Fouling:
    """The time to heavy without a fleet: half of the units in twice the interval; judged, no source."""
    return Fouling(median=2.0 * _published(task, surroundings).days)


def _learned(
    task: Task, found: tuple[tuple[int, str], ...], surroundings: str | None, fouling: Fouling | None
) -> Adapted:
    """The interval after which the chance of finding it heavily fouled reaches the task's level."""
    known, (shortest, longest) = fouling or usual_fouling(task, surroundings), _limits(task)
    days, chance = days_until(found, known, task.heavy_chance, shortest, longest)
    reason = learned_reason(len(found), known, surroundings, f"{chance:.0%}")
    limit: tuple[str, ...] = (gettext("the shortest allowed"),) if days == shortest else ()
    limit = (gettext("the longest allowed"),) if days == longest else limit
    return _adapted(task.interval, Interval(days, "day"), by_grades=True, reasons=(*limit, reason))


# A fleet has few different tasks.
@lru_cache(maxsize=2048)
def _unchanged(task: Task, surroundings: str | None) -> Adapted:
    start, _, shortest, longest, wished, reason = _published(task, surroundings)
    limit = limit_reason(wished, shortest=shortest, longest=longest)
    return _adapted(task.interval, start, by_grades=False, reasons=(*reason, *limit))


class _Published(NamedTuple):
    """The interval before any grade, with its days, its range, its days before that limited it, and its reason."""

    interval: Interval
    days: int
    shortest: int
    longest: int
    wished: float
    reason: tuple[str, ...]


@lru_cache(maxsize=2048)
def _published(task: Task, surroundings: str | None) -> _Published:
    shortest, longest = _limits(task)
    start, factor = _start(task, surroundings)
    wished = 0.0 if task.interval is None else task.interval.days * factor
    return _Published(start, start.days, shortest, longest, wished, _factor_reason(factor, surroundings))


def _limits(task: Task) -> tuple[int, int]:
    if task.shortest is None or task.longest is None:
        raise ValueError(f"{task.code} has no interval to adapt.")
    return task.shortest.days, task.longest.days


def _start(task: Task, surroundings: str | None) -> tuple[Interval, float]:
    """The interval before any grade, and the factor for the surroundings."""
    shortest, longest = _limits(task)
    factor = dict(task.surroundings).get(surroundings or "", 1.0)
    if task.interval is None or factor == 1.0:
        return task.interval or Interval(longest, "day"), factor
    months = _simple(factor) * task.interval.count if task.interval.unit == "month" else None
    if months is not None and months.denominator == 1 and shortest <= Interval(int(months), "month").days <= longest:
        return Interval(int(months), "month"), factor
    return Interval(round(min(max(task.interval.days * factor, shortest), longest)), "day"), factor


def _walk(
    grades: Sequence[Grade],
    served: Sequence[int | None],
    away: Sequence[Span],
    start: tuple[int, float],
    *,
    shortest: int,
    longest: int,
) -> tuple[int, float, dict[str, list[int]]]:
    """Length in days after the grades, the length before the last limit, and what each grade changed it to.

    `served` are the days in service before each; `start` is the length at the start, after and before its limits.
    """
    (length, wished), run, counted_on = start, 0, date.min
    steps: dict[str, list[int]] = {"heavy": [], "blocked": [], "clean": []}
    for (on, code, *_), days in zip(grades, served, strict=True):
        if code is None:
            continue
        if code == "clean":
            if days is None or min(days, days_served(counted_on, on, away)) < TRIED * length:
                continue
            run, counted_on = run + 1, on
        else:
            run = 0
        if run == CLEAN_RUN:
            run, wished = 0, length * CLEAN_RUN_FACTOR
        elif code in FACTORS and days is not None:
            wished = _shortened(FACTORS[code], days, length)
        else:
            continue
        held = round(min(max(wished, shortest), longest))
        if held != length:
            steps[code].append(held)
        length = held
    return length, wished, steps


def _shortened(factor: float, days: int, length: float) -> float:
    """The length after fouling that was found after so many days in service."""
    return min(length, factor * days) if days >= length else min(factor * length, days)


def _factor_reason(factor: float, surroundings: str | None) -> tuple[str, ...]:
    if factor == 1.0 or surroundings is None:
        return ()
    simple = _simple(factor)
    shown = str(simple) if simple.denominator <= LARGEST_DENOMINATOR else format(factor, ".3g")
    return (gettext("x {factor} for {surroundings} surroundings", factor=shown, surroundings=term(surroundings)),)


def _simple(factor: float) -> Fraction:
    """The factor as a fraction of at most twelfths where it is one to nine decimals, else exactly as it is."""
    simple = Fraction(factor).limit_denominator(LARGEST_DENOMINATOR)
    return simple if round(float(simple), 9) == round(factor, 9) else Fraction(factor)


def _adapted(own: Interval | None, used: Interval, by_grades: bool, reasons: tuple[str, ...]) -> Adapted:
    return Adapted(used, by_grades, reasons, *_texts(own, used, reasons))


@lru_cache(maxsize=2048)
def _texts(own: Interval | None, used: Interval, reasons: tuple[str, ...]) -> tuple[str, str]:
    """The interval as text, and the sentence."""
    return str(used), interval_sentence(own, used, reasons)
