"""A year of condenser cleaning in made fleets by each rule for due dates, at equal technician hours.

Each week the technicians' hours go first to the calls of the week; what is left goes to cleanings in the order of their
due dates, due or not, so that no rule has more hours than another. The first year is the same for all: by the calendar.
How a condenser fouls, what is read and graded, and when beer warms is written here without the product's formulas.
"""

import argparse
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from statistics import mean, stdev

import numpy as np

from service.domain.condition.drifting import FIGURES, FORMER
from service.domain.maintenance.adaptation import Grade, found_after, usual_fouling
from service.domain.maintenance.due import due_items
from service.domain.maintenance.foreseen import Foreseen, Reached
from service.domain.maintenance.fouling import Fouling
from service.domain.maintenance.fouling import learned as learned_fouling
from service.domain.maintenance.settings import default_task
from service.domain.maintenance.tasks import RULES, Task
from service.domain.record.unit_log import Performed
from service.domain.statistics.drift import Drift
from service.domain.statistics.drift_learning import learned as learned_drift
from service.domain.statistics.passage import passage

EXCESS = next(each for each in FIGURES if each.of == "condenser_split_excess")
CLEAN = default_task("condenser_clean")
FIRST, WEEKS = date(2025, 1, 6), 104
HALF = WEEKS // 2
CLEANING, CALL = 0.75, 2.5  # hours with the way to the site
SHORT = 0.85  # of the hours that the calendar asks for
LEARN_WEEKS = 13
DAYS_TO_HEAVY = {"greasy": 55.0, "dusty": 95.0, "clean": 260.0}
CALENDAR = {"greasy": 30.0, "dusty": 46.0, "clean": 91.0}
FLEETS: Mapping[str, tuple[str, ...]] = {
    "greasy": ("greasy",),
    "clean": ("clean",),
    "mixed": ("greasy", "dusty", "clean"),
}


@dataclass(slots=True)
class Condenser:
    """One unit: its surroundings as recorded, its median days to heavy, this cycle's, and what was recorded of it."""

    recorded: str | None
    median: float
    heavy_after: float = 0.0
    cleaned: int = 0
    performed: list[Performed] = field(default_factory=list)
    readings: list[tuple[int, float]] = field(default_factory=list)
    past: list[list[tuple[int, float]]] = field(default_factory=list)
    due_on: date = FIRST
    stale: bool = True


@dataclass(frozen=True, slots=True)
class Year:
    """What a year by one rule came to, for 100 units."""

    failures: float
    needless: float
    hours_warm: float
    cleanings: float


def year(size: int, fleet: str, rule: str, seed: int) -> Year:
    """The second year of a fleet, by a rule; the first is by the calendar."""
    chance = np.random.default_rng(seed)
    units = [_unit(chance, FLEETS[fleet][number % len(FLEETS[fleet])]) for number in range(size)]
    kinds = FLEETS[fleet]
    a_week = SHORT * CLEANING * sum(7.0 / CALENDAR[kinds[number % len(kinds)]] for number in range(size))
    known, hours = _Known(), 0.0
    counted = np.zeros(4)
    for week in range(WEEKS):
        task = replace(CLEAN, rule=rule if week >= HALF else "calendar")
        if week >= HALF and (week - HALF) % LEARN_WEEKS == 0:
            known = _learned(units, rule)
            for unit in units:
                unit.stale = True
        hours = min(hours + a_week, 2.0 * a_week)
        happened = np.zeros(4)
        for unit in units:
            happened += _week(chance, unit, week)
        hours -= CALL * happened[0]
        for unit in sorted((_dated(each, task, known) for each in units), key=lambda each: each.due_on):
            if hours < CLEANING:
                break
            hours -= CLEANING
            happened += (0, _clean(chance, unit, 7 * week), 0, 1)
        if week >= HALF:
            counted += happened
    return Year(*(counted * 100.0 / size))


def _unit(chance: np.random.Generator, surroundings: str) -> Condenser:
    recorded = surroundings if chance.random() < 0.8 else None
    unit = Condenser(recorded, DAYS_TO_HEAVY[surroundings] * float(np.exp(0.5 * chance.normal())))
    unit.cleaned = -int(chance.integers(0, 60))
    unit.heavy_after = unit.median * float(np.exp(0.3 * chance.normal()))
    unit.performed.append(Performed("condenser_clean", FIRST + timedelta(days=unit.cleaned), "done", None, None))
    return unit


def _week(chance: np.random.Generator, unit: Condenser, week: int) -> tuple[float, float, float, float]:
    """Whether beer warmed in a week, and for how many hours; other visits read the condenser as well."""
    fouled = (7 * week - unit.cleaned) / unit.heavy_after
    if chance.random() < 7 / 100 * 0.8:
        _read(chance, unit, 7 * week, fouled)
    if chance.random() < 7.0 * (0.0001 + 0.004 * max(fouled - 1.0, 0.0)):
        _clean(chance, unit, 7 * week)  # a call about warm beer ends with a clean condenser
        return 1.0, 0.0, float(chance.uniform(4.0, 20.0)), 0.0
    return 0.0, 0.0, 0.0, 0.0


def _read(chance: np.random.Generator, unit: Condenser, day: int, fouled: float) -> None:
    wrong = chance.normal() * 5.0 if chance.random() < 0.05 else 0.0
    excess = EXCESS.limit * fouled**1.2 + chance.normal() + wrong
    unit.readings.append((day, float(excess)))
    unit.stale = True


def _clean(chance: np.random.Generator, unit: Condenser, day: int) -> float:
    """Clean it; 1 where that was needless."""
    fouled = (day - unit.cleaned) / unit.heavy_after
    if chance.random() < 0.8:
        _read(chance, unit, day, fouled)
    seen = fouled * float(np.exp(0.15 * chance.normal()))
    grade = "clean" if seen < 0.45 else "light" if seen < 1.0 else "heavy" if seen < 2.0 else "blocked"
    unit.performed.append(Performed("condenser_clean", FIRST + timedelta(days=day), "done", grade, None))
    unit.past.append(unit.readings)
    unit.readings, unit.cleaned, unit.stale = [], day, True
    unit.heavy_after = unit.median * float(np.exp(0.3 * chance.normal()))
    if chance.random() < 0.8:
        _read(chance, unit, day, 0.0)
    return float(fouled < 0.45)


@dataclass(frozen=True, slots=True)
class _Known:
    fouling: Mapping[str, Fouling] = field(default_factory=dict)
    drifts: Mapping[str | None, Drift] = field(default_factory=dict)


def _learned(units: Sequence[Condenser], rule: str) -> _Known:
    """What the fleet shows by now, as the product learns it by night."""
    classes = sorted({unit.recorded for unit in units}, key=str)
    by_class = {recorded: [unit for unit in units if unit.recorded == recorded] for recorded in classes}
    if rule == "learned":
        return _Known(
            fouling={
                f"condenser_clean/{recorded or ''}": learned_fouling(
                    [found_after(CLEAN, _grades(unit), None) for unit in own], usual_fouling(CLEAN, recorded)
                )
                for recorded, own in by_class.items()
            }
        )
    if rule == "condition":
        drifts = {recorded: learned_drift(list(_runs(own)), EXCESS.usual) for recorded, own in by_class.items()}
        return _Known(drifts=drifts)
    return _Known()


def _grades(unit: Condenser) -> list[Grade]:
    return [Grade(each.on, each.as_found, True) for each in unit.performed]


def _runs(units: Sequence[Condenser]) -> Iterator[tuple[list[float], list[float]]]:
    for unit in units:
        for run in (*unit.past[-4:], unit.readings):
            if len(run) >= 3:
                yield _series(run)


def _series(run: Sequence[tuple[int, float]]) -> tuple[list[float], list[float]]:
    return [float(day - run[0][0]) for day, _ in run], [value for _, value in run]


def _dated(unit: Condenser, task: Task, known: _Known) -> Condenser:
    """The unit with its due date by the product's own rule."""
    if not unit.stale:
        return unit
    figures = {}
    if task.rule == "condition" and unit.readings:
        figures[EXCESS.of] = _reached(unit, known.drifts.get(unit.recorded, EXCESS.usual))
    (item,) = due_items(
        tasks=(task,),
        performed=unit.performed,
        installed_on=None,
        registered_on=date(2020, 1, 1),
        surroundings=unit.recorded,
        closed_weekdays=frozenset(),
        latest=None,
        foreseen=Foreseen(known.fouling, figures),
    )
    unit.due_on, unit.stale = item.due_on, False
    return unit


def _reached(unit: Condenser, drift: Drift) -> Reached:
    readings = unit.readings
    former = [_series(run) for run in unit.past if len(run) > 1][-FORMER:]
    found = passage(*_series(readings), EXCESS.limit, drift, 730.0, former)
    last = FIRST + timedelta(days=readings[-1][0])
    steady = found.within < 0.5 or found.low is None
    return Reached(None if steady else last + timedelta(days=int(found.low or 0.0)), last, found.crossed >= 0.5, "")


def table(sizes: Sequence[int], seeds: Sequence[int], fleets: Sequence[str] = tuple(FLEETS)) -> Iterator[str]:
    """A row for each fleet and rule: means over seeds, with their standard deviation."""
    for size in sizes:
        for fleet in fleets:
            for rule in RULES:
                years = [year(size, fleet, rule, seed) for seed in seeds]
                shown = (_mean([getattr(each, name) for each in years]) for name in Year.__slots__)
                yield f"| {size} {fleet} | {rule} | {' | '.join(shown)} |"


def _mean(values: Sequence[float]) -> str:
    return f"{mean(values):.1f} ± {stdev(values):.1f}" if len(values) > 1 else f"{values[0]:.1f}"


def main_intervals(given: list[str]) -> None:
    """Print the table."""
    asked = argparse.ArgumentParser(prog="python -m tests.simulation intervals")
    asked.add_argument("--units", type=int, nargs="+", default=[25, 300, 3000])
    asked.add_argument("--seeds", type=int, nargs="+", default=[1, 2, 3, 4, 5])
    chosen = asked.parse_args(given)
    print("| fleet | rule | failures | needless cleanings | hours without cold beer | cleanings |")
    print("|---|---|---|---|---|---|")
    for row in table(chosen.units, chosen.seeds):
        print(row, flush=True)
