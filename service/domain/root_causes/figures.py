"""A unit's failure statistics as a row of numbers per component kind, so that a night can weigh thousands at once.

A row holds what happened up to the last day of the history and how each exposure continues without a visit, so that
it stays valid until the history changes.
"""

from base64 import b64decode, b64encode
from collections.abc import Iterable
from dataclasses import fields, is_dataclass
from datetime import date
from functools import cache
from hashlib import sha256
from types import FunctionType, ModuleType

import numpy as np

from service import __version__
from service.domain.record.fleet import COMPONENT_KINDS
from service.domain.root_causes import (
    baselines,
    causes,
    comparison,
    engine,
    explanation,
    exposure,
    failures,
    learning,
    sequences,
    views,
)
from service.domain.root_causes.baselines import Baselines, default_setting, kinds_of
from service.domain.root_causes.comparison import FailureArrays, Numbers, cause_of_view, compare, made
from service.domain.root_causes.engine import WATCH
from service.domain.root_causes.exposure import Track, at
from service.domain.root_causes.failures import (
    STRENGTHS,
    YEAR,
    KindFailures,
    failures_of,
    positions_of,
    tracks_of,
)
from service.domain.root_causes.history import FailureHistory

KINDS = (*COMPONENT_KINDS, "unknown")
GAINS = 3 * (len(STRENGTHS) - 1)  # full exposure at strength 1 changes nothing
TAIL = 5
ALL_UP_TO, THEN_EVERY = 1000, 16
MODULES = (baselines, causes, comparison, engine, explanation, exposure, failures, learning, sequences, views)

# The first numbers of a row; days as ordinals, OPEN 1 while the unit is watched and 0 once it is retired.
KIND, FAILURES, FAILURE_DAYS, POSITIONS, START, LAST, OPEN, EXCESS_GAIN = range(8)
HEAD = 8
VIEW = 1 + TAIL + GAINS  # exposed years, how it continues, gains


@cache
def width() -> int:
    """How many numbers a row has: as many as the kind with the most views needs."""
    return HEAD + VIEW * max(len(cause_of_view(kind)) for kind in KINDS)


@cache
def layout() -> str:
    """A mark of all that stored figures and texts depend on; those of another mark are made anew.

    It covers the program's version and every constant here and in the modules that make figures and texts: causes with
    their views, limits, priors and sentences among them.
    """
    named = [globals(), *map(vars, MODULES)]
    constants = [[(name, _plain(space[name])) for name in sorted(space) if name.isupper()] for space in named]
    return sha256(repr((__version__, constants)).encode()).hexdigest()[:16]


def _plain(value: object) -> object:
    """A constant in a form whose text is the same in every process."""
    if isinstance(value, ModuleType | FunctionType | type):
        return value.__name__
    if is_dataclass(value):
        return [(each.name, _plain(getattr(value, each.name))) for each in fields(value)]
    if isinstance(value, dict):
        return [(key, _plain(value[key])) for key in sorted(value)]
    if isinstance(value, np.ndarray):
        return value.tolist()
    return [_plain(each) for each in value] if isinstance(value, list | tuple) else value


def in_sample(unit_id: int) -> bool:
    """Whether the fleet's figures are learned from this unit: from the first 1000, then from every 16th."""
    return unit_id <= ALL_UP_TO or unit_id % THEN_EVERY == 0


def packed(history: FailureHistory, *, everything: bool) -> str:
    """The rows of a unit: of the kinds that failed on two days, or of `everything` for those in the sample."""
    history, rows = history.until(history.end), []
    for kind in kinds_of(history):
        if not everything and sum(event.kind == kind for event in history.replaced) < 2:
            continue
        own = failures_of(history, kind, history.end)
        if everything or own.failure_days >= 2:
            rows.append(_row(history, own))
    return b64encode(np.array(rows, dtype="<f8").tobytes()).decode()


def unpacked(figures: Iterable[str]) -> Numbers:
    """The rows (n, width) of units, one behind the other."""
    return np.frombuffer(b"".join(map(b64decode, figures)), dtype="<f8").reshape(-1, width())


def arrays_on(rows: Numbers, kind: str, day: int) -> FailureArrays:
    """The rows of one kind as they stand on a day (an ordinal) if nothing was recorded since."""
    count = len(cause_of_view(kind))
    last, positions = rows[:, LAST], rows[:, POSITIONS]
    until = np.where(rows[:, OPEN] > 0, np.maximum(day, last), last)
    years = np.maximum(1.0, until - rows[:, START]) / YEAR * positions
    parts = rows[:, HEAD : HEAD + VIEW * count].reshape(-1, count, VIEW)
    later = _later(parts[:, :, 1 : 1 + TAIL], last[:, None], until[:, None])
    exposed = parts[:, :, 0] + later / YEAR * positions[:, None]
    kept = parts[:, :, 1 + TAIL :].reshape(-1, count, len(STRENGTHS) - 1, 3)
    gains = np.concatenate([np.zeros((len(rows), count, 1, 3)), kept], axis=2)
    return FailureArrays(
        kind=kind,
        count=rows[:, FAILURES],
        years=years,
        exposed=exposed,
        gains=gains[..., 0],
        made=made(gains, exposed, years),
        excess_gain=rows[:, EXCESS_GAIN],
    )


def _later(tail: Numbers, last: Numbers, until: Numbers) -> Numbers:
    """The score summed over the days after the history's last (n, views) [d]: level, two corners, level."""
    level, first, at_first, second, at_second = np.moveaxis(tail, 2, 0)
    total: Numbers = _stretch(last, level, first, at_first, until) + _stretch(first, at_first, second, at_second, until)
    total += np.maximum(0.0, until - second) * at_second
    return total


def _stretch(start: Numbers, low: Numbers, end: Numbers, high: Numbers, until: Numbers) -> Numbers:
    days = np.clip(until - start, 0.0, end - start)
    covered: Numbers = days * (low + (high - low) / np.maximum(end - start, 1.0) * days / 2.0)
    return covered


def _row(history: FailureHistory, own: KindFailures) -> list[float]:
    last = max(history.end.toordinal(), history.start.toordinal())
    row = [
        float(KINDS.index(own.kind)),
        own.count,
        float(own.failure_days),
        float(positions_of(history, own.kind)),
        float(history.start.toordinal()),
        float(last),
        float(not history.retired),
        own.excess_gain,
    ]
    for track, exposed, gains in zip(tracks_of(history, own.kind), own.exposed, own.gains, strict=True):
        row += [exposed, *tail_of(track, last), *(number for gain in gains[1:] for number in gain)]
    return row + [0.0] * (width() - len(row))


def tail_of(track: Track, last: int) -> tuple[float, float, float, float, float]:
    """How a score continues after a day: its level, then two corners (day, level), the second of which stays."""
    here = next((left for day, _, left in track if day == last), at(track, last))
    corners: list[tuple[float, float]] = []
    for day, found, left in track:
        if day > last:
            corners.append((day, found))
            if left != found:
                corners.append((day, left))
    if len(corners) > 2:
        raise ValueError(f"a score may turn twice at most without a visit, this one turns {len(corners)} times")
    corners = [*corners, *[corners[-1] if corners else (float(last), here)] * (2 - len(corners))]
    return (here, *corners[0], *corners[1])


def learned(rows: Numbers, day: int) -> Baselines:
    """What is learned from the fleet's rows on a day (an ordinal)."""
    settings = {}
    for number, kind in enumerate(KINDS):
        own = rows[rows[:, KIND] == number]
        if len(own):
            settings[kind] = learning.learned(arrays_on(own, kind, day), default_setting(kind))
    return Baselines(settings)


def learned_of(histories: Iterable[FailureHistory], day: date) -> Baselines:
    """The same from whole histories, one at a time."""
    return learned(unpacked(packed(history, everything=True) for history in histories), day.toordinal())


def unlikely_by_chance(rows: Numbers, known: Baselines, day: int) -> list[tuple[int, str, float]]:
    """(row, component kind, probability of chance) of the rows in which `engine.root_causes_of` finds a root cause."""
    found = []
    for number, kind in enumerate(KINDS):
        own = np.flatnonzero((rows[:, KIND] == number) & (rows[:, FAILURE_DAYS] >= 2))
        if len(own):
            chance = compare(arrays_on(rows[own], kind, day), known.of(kind)).chance
            found += [(int(own[i]), kind, float(chance[i])) for i in np.flatnonzero(chance < WATCH)]
    return sorted(found)
