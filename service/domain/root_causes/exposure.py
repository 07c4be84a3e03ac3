"""How far a unit was exposed to each cause over time, from 0 to 1, as its record tells.

Between two visits a score runs from as left to as found; what was only left is never taken for what was found later.
"""

from bisect import bisect_left
from collections.abc import Iterable
from datetime import date
from itertools import pairwise

from service.domain.physics.glycol.fractions import strength_from_volume
from service.domain.physics.glycol.properties import strength_at_freezing_point
from service.domain.physics.glycol.strength import strength_from_brix
from service.domain.physics.ranges import OutOfRange
from service.domain.root_causes.candidate import RecordReading, UnitRecord

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


def since_cleaning(record: UnitRecord, tasks: tuple[str, ...], *, none: int, full: int) -> Track:
    """Rises from `none` to `full` days after a cleaning, corrected by what the next cleaning found; it has no end."""
    last, points = record.start.toordinal(), [(record.start.toordinal(), 0.0, 0.0)]
    done: dict[int, str | None] = {}
    for t in record.tasks:
        if t.task in tasks and t.result == "done":
            done[t.day.toordinal()] = t.as_found or done.get(t.day.toordinal())  # two tasks a day, one told the find
    for day in sorted(each for each in done if last < each <= record.end.toordinal()):
        points += _until(last, day, done[day], (none, full))
        last = day
    return (*points, (last + none, 0.0, 0.0), (last + full, 1.0, 1.0))


def _until(last: int, day: int, found: str | None, days: tuple[int, int]) -> list[Point]:
    none, full = days
    due = ramp(day - last, none=none, full=full)
    seen = due if found is None else FOUND.get(found, due)
    if seen > due or due == 0.0:
        return [(day, seen, 0.0)]
    corners = [(last + d, s * seen / due) for d, s in ((none, 0.0), (full, 1.0)) if last + d < day]
    return [*((d, s, s) for d, s in corners), (day, seen, 0.0)]


def of_readings(values: Iterable[tuple[date, float, bool]]) -> Track:
    """From scores with their day and whether as found; back to the record's start it stays as first found."""
    found: dict[int, float] = {}
    left: dict[int, float] = {}
    for day, score, as_found in values:
        (found if as_found else left)[day.toordinal()] = score
    points: list[Point] = []
    for number in sorted({*found, *left}):
        before = found.get(number, points[-1][2] if points else None)
        if before is not None:
            points.append((number, before, left.get(number, before)))
    return tuple(points)


def constant(score: float, record: UnitRecord) -> Track:
    """The same all the time, as a rating is."""
    return ((record.start.toordinal(), score, score),)


def windows(starts: Iterable[int], length: int) -> Track:
    """1 for so many days after each start, the day itself excepted."""
    points: list[Point] = []
    for start in sorted(set(starts)):
        if points and points[-1][0] >= start:
            points[-1] = (start, 1.0, 1.0)
        else:
            points.append((start, 0.0, 1.0))
        points.append((start + length, 1.0, 0.0))
    return tuple(points)


def scored(record: UnitRecord, quantity: str, *, none: float, full: float) -> Track:
    """A quantity's readings between two values."""
    read = ((r.day, r.value, r.as_found) for r in record.readings if r.quantity == quantity)
    return of_readings((day, ramp(value, none=none, full=full), found) for day, value, found in read)


def strength_track(record: UnitRecord, *, none: float, full: float) -> Track:
    """The glycol's strength as a mass fraction between two values."""
    read = ((r.day, mass_fraction(r), r.as_found) for r in record.readings if r.quantity == "glycol_strength")
    return of_readings((day, ramp(c, none=none, full=full), found) for day, c, found in read if c is not None)


def mass_fraction(reading: RecordReading) -> float | None:
    """The strength of a reading on whatever scale; None where it has none from 0 to 0.6."""
    try:
        if reading.dimension == "volume_fraction":
            return strength_from_volume(reading.value)
        if reading.dimension == "temperature":
            return strength_at_freezing_point(reading.value)
        if reading.dimension == "brix":
            sample = 293.15 if reading.sample_temperature is None else reading.sample_temperature
            return strength_from_brix(reading=reading.value, sample_temperature=sample, compensated=True)
    except OutOfRange:
        return None
    return reading.value
