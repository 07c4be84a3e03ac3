"""A unit's failure statistics as a row of numbers per component kind, so that a night can weigh thousands at once.

A row holds what happened up to the last day of the history and how each exposure continues without a visit, so that
it stays valid until the history changes.
"""

from base64 import b64decode, b64encode
from collections.abc import Iterable, Sequence
from dataclasses import fields, is_dataclass
from functools import cache, lru_cache
from hashlib import sha256
from inspect import getsource
from sys import modules
from types import FunctionType, ModuleType

import numpy as np

from service.domain.record import failed
from service.domain.record.fleet import COMPONENT_KINDS
from service.domain.root_causes import (
    attribution,
    baselines,
    before_failure,
    causes,
    comparison,
    engine,
    exposure,
    failures,
    found,
    history,
    last_looks,
    learning,
    presence,
    sequences,
    sound_readings,
    switch_loads,
    views,
)
from service.domain.root_causes.baselines import Baselines, default_setting, kinds_of
from service.domain.root_causes.causes import causes_of
from service.domain.root_causes.comparison import (
    FailureArrays,
    Numbers,
    Setting,
    cause_of_view,
    compare,
    frailty_of,
    made,
    measured_by_cause,
    still_at_work,
    support_of,
)
from service.domain.root_causes.engine import tier_of
from service.domain.root_causes.exposure import Track, at
from service.domain.root_causes.failures import (
    NO_GAINS,
    STRENGTHS,
    YEAR,
    KindFailures,
    failures_of,
    failures_where_two,
    positions_of,
    scope,
    silent_rate,
    views_of,
)
from service.domain.root_causes.fleet_search import suspicions
from service.domain.root_causes.history import FailureHistory, last_day
from service.domain.root_causes.views import Tracks

KINDS = (*COMPONENT_KINDS, "unknown")
GAINS = 3 * (len(STRENGTHS) - 1)  # full exposure at strength 1 changes nothing
WITHOUT_GAINS = [0.0] * GAINS
TAIL = 5
Tail = tuple[float, float, float, float, float]
ALL_UP_TO, THEN_EVERY = 1000, 16
MODULES = (
    attribution, baselines, before_failure, causes, comparison, engine, exposure, failed, failures, found, history,
    last_looks, learning, presence, sequences, sound_readings, switch_loads, views,
)  # fmt: skip

# The first numbers of a row; days as ordinals, OPEN 1 while the unit is watched and 0 once it is retired,
# FIRST 1 in the first row of a unit, SILENT the failures a year expected of its kinds that never failed.
KIND, FAILURES, FAILURE_DAYS, POSITIONS, START, LAST, OPEN, FIRST, FAILED_FIRST, FAILED_LAST, SILENT = range(11)
HEAD = 11
VIEW = 3 + TAIL + GAINS  # how far measured, exposed years, reach, how it continues, gains


@cache
def width() -> int:
    """How many numbers a row has: as many as the kind with the most views needs."""
    return HEAD + VIEW * max(len(cause_of_view(kind)) for kind in KINDS)


@cache
def layout() -> str:
    """A mark of all that stored figures depend on; those of another mark are made anew.

    It covers the code and every constant here and in the modules that make figures: causes with their views, limits and
    priors among them, but no words, which are put to a root cause when it is read.
    """
    named = [modules[__name__], *MODULES]
    constants = [[(name, _plain(vars(each)[name])) for name in sorted(vars(each)) if name.isupper()] for each in named]
    code = [getsource(each) for each in named if each is not causes]
    return sha256(repr((constants, code)).encode()).hexdigest()[:16]


def _plain(value: object) -> object:
    """A constant in a form whose text is the same in every process."""
    if isinstance(value, ModuleType | FunctionType | type):
        return value.__name__
    if is_dataclass(value):
        return [(each.name, _plain(getattr(value, each.name))) for each in fields(value) if each.name != "why"]
    if isinstance(value, dict):
        return [(key, _plain(value[key])) for key in sorted(value, key=str)]
    if isinstance(value, np.ndarray):
        return value.tolist()
    return [_plain(each) for each in value] if isinstance(value, list | tuple) else value


def in_sample(unit_id: int) -> bool:
    """Whether the fleet's figures are learned from this unit: from the first 1000, then from every 16th."""
    return unit_id <= ALL_UP_TO or unit_id % THEN_EVERY == 0


def packed(history: FailureHistory, *, everything: bool) -> str:
    """The rows of a unit: of `failures_where_two`; of `everything` for a unit in the sample."""
    tracks = Tracks(history.until(history.end))
    if everything:
        each = [failures_of(history, kind, history.end, tracks) for kind in kinds_of(history)]
    else:
        each = failures_where_two(history, history.end, tracks)
    silent = silent_rate(history, {own.kind for own in each if own.failure_days})
    rows = [_row(tracks, own, silent) for own in each]
    for row in rows[:1]:
        row[FIRST] = 1.0
    return b64encode(np.array(rows, dtype="<f8").tobytes()).decode()


def unpacked(figures: Iterable[str]) -> Numbers:
    """The rows (n, width) of units, one behind the other."""
    return np.frombuffer(b"".join(map(b64decode, figures)), dtype="<f8").reshape(-1, width())


def arrays_on(rows: Numbers, kind: str, day: int) -> FailureArrays:
    """The rows of one kind as they stand on a day (an ordinal) if nothing was recorded since."""
    count = len(cause_of_view(kind))
    last, positions, until = rows[:, LAST], rows[:, POSITIONS], _until(rows, day)
    years = _watched_years(rows, day) * positions
    parts = rows[:, HEAD : HEAD + VIEW * count].reshape(-1, count, VIEW)
    later = _later(parts[:, :, 3 : 3 + TAIL], last[:, None], until[:, None])
    exposed = parts[:, :, 1] + later / YEAR * positions[:, None]
    kept = parts[:, :, 3 + TAIL :].reshape(-1, count, len(STRENGTHS) - 1, 3)
    gains = np.concatenate([np.zeros((len(rows), count, 1, 3)), kept], axis=2)
    return FailureArrays(
        kind=kind,
        count=rows[:, FAILURES],
        years=years,
        exposed=exposed,
        gains=gains[..., 0],
        made=made(gains, exposed / years[:, None] / parts[:, :, 2]),
        measured_level=measured_by_cause(kind, parts[:, :, 0]),
    )


def _until(rows: Numbers, day: int) -> Numbers:
    """The last day of each row as it stands on a day."""
    until: Numbers = np.where(rows[:, OPEN] > 0, np.maximum(day, rows[:, LAST]), rows[:, LAST])
    return until


def _watched_years(rows: Numbers, day: int) -> Numbers:
    years: Numbers = np.maximum(1.0, _until(rows, day) - rows[:, START]) / YEAR
    return years


def any_measured(rows: Numbers, codes: Iterable[str], least: float) -> bool:
    """Whether one of these causes was ever measured so far in a unit, whose rows they are."""
    for row in rows:
        causes = [cause.code for cause in causes_of(KINDS[int(row[KIND])]) for _ in cause.views]
        levels = row[HEAD : HEAD + VIEW * len(causes) : VIEW]
        if any(level >= least for cause, level in zip(causes, levels, strict=True) if cause in codes):
            return True
    return False


def expected_on(rows: Numbers, setting: Setting, day: int) -> float:
    """Failures expected by chance of all these rows, which are of one kind."""
    return float((_watched_years(rows, day) * rows[:, POSITIONS]).sum()) * setting.rate


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


def _row(tracks: Tracks, own: KindFailures, silent: float) -> list[float]:
    history, codes = tracks.history, positions_of(tracks.history, own.kind)
    last = last_day(history)
    row = [
        float(KINDS.index(own.kind)),
        own.count,
        float(own.failure_days),
        float(len(codes)),
        float(history.start.toordinal()),
        float(last),
        float(not history.retired),
        0.0,
        float(own.events[0].on.toordinal() if own.events else last),
        float(own.events[-1].on.toordinal() if own.events else last),
        silent,
    ]
    views = [view for view, _ in views_of(own.kind)]
    each = zip(views, own.measured_level, own.exposed, own.reach, own.gains, strict=True)
    for view, measured, exposed, reach, gains in each:
        tails = [tail_of(tracks.of(view, own.kind, code), last) for code in scope(view, own.kind, codes)]
        row += [measured, exposed, reach, *mean_tail(tails)]
        row += WITHOUT_GAINS if gains is NO_GAINS else [number for gain in gains[1:] for number in gain]
    return row + [0.0] * (width() - len(row))


def mean_tail(tails: list[Tail]) -> Tail:
    """How the mean of several scores continues, all of which turn on the same days or stay as they are."""
    if len(tails) == 1:
        return tails[0]
    turns = {(tail[1], tail[3]) for tail in tails if tail[2] != tail[0] or tail[4] != tail[0]} or {tails[0][1::2]}
    if len(turns) > 1:
        raise ValueError("the scores of positions turn on the same days until the next visit")
    (days,) = turns
    level, first, second = (sum(tail[at] for tail in tails) / len(tails) for at in (0, 2, 4))
    return (level, days[0], first, days[1], second)


@lru_cache(maxsize=1024)  # the exposures of a whole unit come with each of its kinds
def tail_of(track: Track, last: int) -> Tail:
    """How a score continues after a day: its level, then two corners (day, level), the second of which stays."""
    here = next((left for day, _, left in track if day == last), at(track, last))
    corners: list[tuple[float, float]] = []
    for day, as_found, left in track:
        if day > last:
            corners.append((day, as_found))
            if left != as_found:
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


def unlikely_by_chance(
    rows: Numbers, known: Baselines, day: int, tags: Sequence[str] = ()
) -> list[tuple[int, str, float, str]]:
    """(row, component kind, probability of chance, tier) of the rows in which `engine.root_causes_of` finds something.

    `rows` are all of those of each unit, whose tags are by unit; of units that failed on two days only.
    """
    owners = np.cumsum(rows[:, FIRST] > 0).astype(int) - 1
    places = {
        kind: own
        for number, kind in enumerate(KINDS)
        if len(own := np.flatnonzero((rows[:, KIND] == number) & (rows[:, FAILURE_DAYS] >= 1)))
    }
    each = {kind: (arrays_on(rows[own], kind, day), owners[own]) for kind, own in places.items()}
    first = rows[rows[:, FIRST] > 0]
    frailty = frailty_of(each, known.of, first[:, SILENT] * _watched_years(first, day))
    support = support_of(each, known.of, units=len(first))
    found, made = [], suspicions(known.fleet)
    for kind, own in places.items():
        chance = compare(each[kind][0].times(frailty[kind]), known.of(kind), support[kind]).chance
        by_fleet = np.array([made.get((tags[unit], kind), 0.0) if tags else 0.0 for unit in owners[own]])
        chance = chance / (1.0 + chance * by_fleet / (1.0 - by_fleet))
        for at_row, by_chance, still in zip(own, chance, _still_at_work(rows[own], day), strict=True):
            tier = tier_of(by_chance, still)
            if tier and rows[at_row, FAILURE_DAYS] >= 2:
                found.append((int(at_row), kind, float(by_chance), tier))
    return sorted(found)


def _still_at_work(rows: Numbers, day: int) -> Numbers:
    first, last = rows[:, FAILED_FIRST], rows[:, FAILED_LAST]
    return still_at_work(rows[:, FAILURE_DAYS], span=last - first, quiet=_until(rows, day) - last)
