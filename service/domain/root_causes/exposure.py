"""How far a unit was exposed to each cause over time, from 0 to 1, by its history.

Between two visits a score runs from as left to as found; what was only left is never taken for what was found later.
"""

from bisect import bisect_left
from collections.abc import Iterable
from itertools import chain, pairwise

from service.domain.physics.glycol.properties import ROOM
from service.domain.physics.glycol.strength import strength_by_scale
from service.domain.physics.ranges import OutOfRange
from service.domain.record.unit_log import ReadingTaken
from service.domain.record.visits import Reading
from service.domain.root_causes.history import FailureHistory

Point = tuple[int, float, float]
"""(day as an ordinal, score found that day, score left that day)."""
Track = tuple[Point, ...]

FOUND = {"clean": 0.0, "light": 0.2, "heavy": 0.8, "blocked": 1.0}
NOTHING: Track = ()


def ramp(value: float, *, none: float, full: float) -> float:
    """0 at `none`, 1 at `full`, straight between; `full` may lie on either side."""
    return min(1.0, max(0.0, (value - none) / (full - none)))


def at(track: Track, day: int) -> float:
    """The score found on a day: straight between left and found; after the last point as it was left."""
    if not track:
        return 0.0
    index = bisect_left(track, (day,))
    if index == len(track):
        return track[-1][2]
    after = track[index]
    if after[0] == day or index == 0:
        return after[1]
    before = track[index - 1]
    return before[2] + (after[1] - before[2]) * (day - before[0]) / (after[0] - before[0])


def area(track: Track, start: int, end: int) -> float:
    """The score summed over the days from start to end [d]."""
    if not track or end <= start:
        return 0.0
    total = (max(0, min(track[0][0], end) - start)) * track[0][1]
    for (day, _, left), (later, found, _) in pairwise(track):
        low, high = max(day, start), min(later, end)
        if high > low:
            slope = (found - left) / (later - day)
            total += (high - low) * (left + slope * ((low + high) / 2.0 - day))
    return total + max(0, end - max(start, track[-1][0])) * track[-1][2]


def since_cleaning(history: FailureHistory, tasks: tuple[str, ...], *, none: int, full: int) -> Track:
    """Rises from `none` to `full` days after a cleaning, corrected by what was found next; without end.

    What was found counts whether or not it was cleaned then: a look sets the days that the fouling has taken so far.
    """
    start, end = history.start.toordinal(), history.end.toordinal()
    last = _cleaned_before(history, tasks)
    known = ramp(start - last, none=none, full=full)
    points = [(start, known, known)]
    for day, (grade, cleaned) in sorted(_looks(history, tasks).items()):
        if start < day <= end:
            points += _until(points[-1], last, day, grade, (none, full))
            seen = points[-1][2]
            last = day if cleaned or seen == 0.0 else day - round(none + seen * (full - none))
            points[-1] = (day, seen, 0.0 if cleaned else seen)
    later = [(last + days, score, score) for days, score in ((none, 0.0), (full, 1.0))]
    return (*points, *(corner for corner in later if corner[0] > points[-1][0]))


def _cleaned_before(history: FailureHistory, tasks: tuple[str, ...]) -> int:
    """The last day of a cleaning before the history begins, as reported; its first day where nobody reported any."""
    start = history.start
    days = (t.on for t in history.performed if t.task in tasks and t.result == "done" and t.on <= start)
    return max(days, default=start).toordinal()


def _looks(history: FailureHistory, tasks: tuple[str, ...]) -> dict[int, tuple[float | None, bool]]:
    """By day what was found, if it was recorded, and whether it was cleaned."""
    looks: dict[int, tuple[float | None, bool]] = {}
    for t in history.performed:
        if t.task in tasks and (t.result == "done" or t.as_found in FOUND):
            grade, cleaned = looks.get(t.on.toordinal(), (None, False))  # two tasks a day, one with a finding
            looks[t.on.toordinal()] = (FOUND.get(t.as_found or "", grade), cleaned or t.result == "done")
    return looks


def _until(before: Point, last: int, day: int, found: float | None, days: tuple[int, int]) -> list[Point]:
    """The points after `before`, up to what was found on a day, `last` having been clean."""
    none, full = days
    due = ramp(day - last, none=none, full=full)
    seen = due if found is None else found
    if seen > due or due == 0.0:
        return [(day, seen, seen)]
    corners = [(last + d, s * seen / due) for d, s in ((none, 0.0), (full, 1.0)) if before[0] < last + d < day]
    return [*((d, s, s) for d, s in corners), (day, seen, seen)]


def of_readings(scores: Iterable[tuple[ReadingTaken, float]]) -> Track:
    """From readings with their scores; back to the start of the history it stays as first found."""
    found: dict[int, float] = {}
    left: dict[int, float] = {}
    for taken, score in scores:
        (found if taken.as_found else left)[taken.on.toordinal()] = score
    points: list[Point] = []
    for number in sorted({*found, *left}):
        before = found.get(number, points[-1][2] if points else None)
        if before is not None:
            points.append((number, before, left.get(number, before)))
    return tuple(points)


def constant(score: float, history: FailureHistory) -> Track:
    """The same all the time, as a rating is."""
    return ((history.start.toordinal(), score, score),)


def scaled(track: Track, share: float) -> Track:
    """A share of the score."""
    return tuple((day, share * found, share * left) for day, found, left in track)


def windows(starts: Iterable[int], length: int, *, level: float = 1.0) -> Track:
    """The level, 1 where none is given, for so many days after each start, the day itself excepted."""
    points: list[Point] = []
    for start in sorted(set(starts)):
        if points and points[-1][0] >= start:
            points[-1] = (start, level, level)
        else:
            points.append((start, 0.0, level))
        points.append((start + length, level, 0.0))
    return tuple(points)


def windows_of_positions(starts: Iterable[tuple[int, str]], length: int, *, positions: int) -> Track:
    """The share of so many positions with a start in the last so many days.

    Windows that overlap are one of all positions that started in it: too much rather than too little, and what goes
    on without a visit ends on one day, as `figures.tail_of` asks.
    """
    groups: list[list[tuple[int, str]]] = []
    for start in sorted(starts):
        if groups and start[0] <= groups[-1][-1][0] + length:
            groups[-1].append(start)
        else:
            groups.append([start])
    each = (
        windows((day for day, _ in own), length, level=min(1.0, len({code for _, code in own}) / max(1, positions)))
        for own in groups
    )
    return tuple(chain.from_iterable(each))


def strength_track(history: FailureHistory, *, none: float, full: float) -> Track:
    """The glycol's strength as a mass fraction between two values."""
    read = ((t, mass_fraction(t.reading)) for t in history.readings if t.reading.quantity == "glycol_strength")
    return of_readings((taken, ramp(c, none=none, full=full)) for taken, c in read if c is not None)


def mass_fraction(reading: Reading) -> float | None:
    """The strength of a reading on whatever scale; None where it has none from 0 to 0.6."""
    sample = ROOM if reading.sample_temperature is None else reading.sample_temperature.value
    try:
        return strength_by_scale(reading.value.value, reading.value.dimension, sample_temperature=sample)
    except OutOfRange:
        return None
