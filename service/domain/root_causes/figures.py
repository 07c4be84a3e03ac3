"""A unit's failure statistics as a row of numbers a component kind, which a night's work can weigh by the thousand.

A row holds what happened up to the record's last day and how each exposure goes on when nobody comes, so that it need
not be made anew until the record changes.
"""

from base64 import b64decode, b64encode
from collections.abc import Iterable
from datetime import date
from functools import cache
from hashlib import sha256

import numpy as np

from service.domain.record.fleet import COMPONENT_KINDS
from service.domain.root_causes import learning
from service.domain.root_causes.baselines import Baselines, default_setting, kinds_of
from service.domain.root_causes.causes import Cause, causes_of
from service.domain.root_causes.comparison import Numbers, Pairs, cause_of_view, compare, made
from service.domain.root_causes.engine import WATCH
from service.domain.root_causes.exposure import Track, at
from service.domain.root_causes.history import FailureHistory
from service.domain.root_causes.statistics import (
    STRENGTHS,
    YEAR,
    PairStatistics,
    pair_statistics,
    places_of,
    tracks_of,
)

KINDS = (*COMPONENT_KINDS, "unknown")
GAINS = 3 * (len(STRENGTHS) - 1)  # full exposure at strength 1 changes nothing
TAIL = 5
ALL_UP_TO, THEN_EVERY = 1000, 16


# The first numbers of a row; days as ordinals, OPEN 1 while the unit is watched and 0 once it is retired.
KIND, FAILURES, FAILURE_DAYS, PLACES, START, LAST, OPEN, EXCESS_GAIN = range(8)
HEAD = 8
VIEW = 1 + TAIL + GAINS  # exposed years, how it goes on, gains


@cache
def width() -> int:
    """How many numbers a row has: as many as the kind with the most views needs."""
    return HEAD + VIEW * max(len(cause_of_view(kind)) for kind in KINDS)


@cache
def layout() -> str:
    """A mark of the causes, their words too, and the kinds by which rows are made; others are made anew."""
    told = [
        (kind, [(c.code, len(c.scores), c.typical, c.source, *_words(c)) for c in causes_of(kind)]) for kind in KINDS
    ]
    return sha256(repr((told, STRENGTHS, VIEW)).encode()).hexdigest()[:16]


def _words(cause: Cause) -> tuple[str, ...]:
    return cause.sentence, cause.confirm, cause.remedy, *cause.bring


def taught_by(unit_id: int) -> bool:
    """Whether the fleet's figures are learned from this unit: all of a fleet of a thousand, of more every 16th."""
    return unit_id <= ALL_UP_TO or unit_id % THEN_EVERY == 0


def packed(history: FailureHistory, *, everything: bool) -> str:
    """The rows of a unit: of the kinds that failed on two days, or of `everything` for those the fleet learns from."""
    history, rows = history.until(history.end), []
    for kind in kinds_of(history):
        if not everything and sum(event.kind == kind for event in history.replaced) < 2:
            continue
        pair = pair_statistics(history, kind, history.end)
        if everything or pair.failure_days >= 2:
            rows.append(_row(history, pair))
    return b64encode(np.array(rows, dtype="<f8").tobytes()).decode()


def unpacked(figures: Iterable[str]) -> Numbers:
    """The rows (n, width) of units, one behind the other."""
    return np.frombuffer(b"".join(map(b64decode, figures)), dtype="<f8").reshape(-1, width())


def pairs_on(rows: Numbers, kind: str, day: int) -> Pairs:
    """The rows of one kind as they stand on a day (an ordinal) if nothing was told since."""
    views = len(cause_of_view(kind))
    last, places = rows[:, LAST], rows[:, PLACES]
    until = np.where(rows[:, OPEN] > 0, np.maximum(day, last), last)
    years = np.maximum(1.0, until - rows[:, START]) / YEAR * places
    parts = rows[:, HEAD : HEAD + VIEW * views].reshape(-1, views, VIEW)
    later = _later(parts[:, :, 1 : 1 + TAIL], last[:, None], until[:, None])
    exposed = parts[:, :, 0] + later / YEAR * places[:, None]
    told = parts[:, :, 1 + TAIL :].reshape(-1, views, len(STRENGTHS) - 1, 3)
    gains = np.concatenate([np.zeros((len(rows), views, 1, 3)), told], axis=2)
    return Pairs(
        kind=kind,
        count=rows[:, FAILURES],
        years=years,
        exposed=exposed,
        gains=gains[..., 0],
        made=made(gains, exposed, years),
        excess_gain=rows[:, EXCESS_GAIN],
    )


def _later(tail: Numbers, last: Numbers, until: Numbers) -> Numbers:
    """The score summed over the days behind the record's last (n, views) [d]: level, two corners, level."""
    level, first, at_first, second, at_second = np.moveaxis(tail, 2, 0)
    total: Numbers = _stretch(last, level, first, at_first, until) + _stretch(first, at_first, second, at_second, until)
    total += np.maximum(0.0, until - second) * at_second
    return total


def _stretch(start: Numbers, low: Numbers, end: Numbers, high: Numbers, until: Numbers) -> Numbers:
    days = np.clip(until - start, 0.0, end - start)
    covered: Numbers = days * (low + (high - low) / np.maximum(end - start, 1.0) * days / 2.0)
    return covered


def _row(history: FailureHistory, pair: PairStatistics) -> list[float]:
    last = max(history.end.toordinal(), history.start.toordinal())
    row = [
        float(KINDS.index(pair.kind)),
        pair.count,
        float(pair.failure_days),
        float(places_of(history, pair.kind)),
        float(history.start.toordinal()),
        float(last),
        float(not history.retired),
        pair.excess_gain,
    ]
    for track, exposed, gains in zip(tracks_of(history, pair.kind), pair.exposed, pair.gains, strict=True):
        row += [exposed, *tail_of(track, last), *(number for gain in gains[1:] for number in gain)]
    return row + [0.0] * (width() - len(row))


def tail_of(track: Track, last: int) -> tuple[float, float, float, float, float]:
    """How a score goes on behind a day: its level, then two corners (day, level), the second of which stays."""
    here = next((left for day, _, left in track if day == last), at(track, last))
    corners: list[tuple[float, float]] = []
    for day, found, left in track:
        if day > last:
            corners.append((day, found))
            if left != found:
                corners.append((day, left))
    if len(corners) > 2:
        raise ValueError(f"a score may turn twice at most when nobody comes, this one turns {len(corners)} times")
    corners = [*corners, *[corners[-1] if corners else (float(last), here)] * (2 - len(corners))]
    return (here, *corners[0], *corners[1])


def learned(rows: Numbers, day: int) -> Baselines:
    """What the fleet's rows teach on a day (an ordinal)."""
    settings = {}
    for number, kind in enumerate(KINDS):
        own = rows[rows[:, KIND] == number]
        if len(own):
            settings[kind] = learning.learned(pairs_on(own, kind, day), default_setting(kind))
    return Baselines(settings)


def learned_of(histories: Iterable[FailureHistory], day: date) -> Baselines:
    """The same from whole records, one at a time."""
    return learned(unpacked(packed(history, everything=True) for history in histories), day.toordinal())


def suspects(rows: Numbers, baselines: Baselines, day: int) -> list[tuple[int, str, float]]:
    """(row, component kind, probability of luck) of the rows that `engine.candidates_of` would tell of on a day."""
    found = []
    for number, kind in enumerate(KINDS):
        own = np.flatnonzero((rows[:, KIND] == number) & (rows[:, FAILURE_DAYS] >= 2))
        if len(own):
            luck = compare(pairs_on(rows[own], kind, day), baselines.of(kind)).luck
            found += [(int(own[i]), kind, float(luck[i])) for i in np.flatnonzero(luck < WATCH)]
    return sorted(found)
