"""Trends of what drifts at a unit: glycol, condenser, currents, bath and beer, one reading a visit."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta

from service.domain.bench.figures import figure
from service.domain.condition.figures import Known, split_of, strength_of
from service.domain.condition.latest import MOMENT, Place, Trend, difference_of
from service.domain.quantities import Quantity
from service.domain.record.unit_log import ReadingTaken
from service.domain.statistics.slope import LAST_READINGS, SOURCE, theil_sen

Point = tuple[datetime, Quantity]
DAY = timedelta(days=1)
MONTH = 30
DRIFTING = ("bath_temperature", "beer_temperature_at_tap", "current", "glycol_strength")
FOUND_ONLY = ("bath_temperature", "beer_temperature_at_tap")  # as left they are what the visit made of them


def trends(readings: Sequence[ReadingTaken], known: Known) -> tuple[Trend, ...]:
    """The trend of every figure that drifts and was read at least once."""
    return tuple(_trend(place, points) for place, points in sorted(_series(readings, known), key=_by_place))


def _by_place(item: tuple[Place, list[Point]]) -> tuple[str, ...]:
    return tuple(part or "" for part in item[0])


def _series(readings: Sequence[ReadingTaken], known: Known) -> Iterator[tuple[Place, list[Point]]]:
    for place in {each.place for each in readings if each.reading.quantity in DRIFTING}:
        points = [point for each in first_of_visits(readings, place) if (point := _point(each, known))]
        if points:
            yield place, points
    splits = [
        (at, figure(value, "temperature_difference")) for at, value, _ in split_of(readings, known, uncontrolled=True)
    ]
    if splits:
        yield ("condenser_split", None, None), splits


def first_of_visits(readings: Iterable[ReadingTaken], place: Place) -> list[ReadingTaken]:
    """Of each visit the first reading at a place, as found before as left; oldest visit first."""
    first: dict[str, ReadingTaken] = {}
    kept = (each for each in readings if each.place == place)
    for each in sorted(kept, key=lambda each: (MOMENT[each.reading.when], each.at)):
        if each.reading.when == "as_found" or place[0] not in FOUND_ONLY:
            first.setdefault(each.visit, each)
    return sorted(first.values(), key=lambda each: each.at)


def _point(each: ReadingTaken, known: Known) -> Point | None:
    if each.reading.quantity != "glycol_strength":
        return each.at, each.reading.value
    strength = strength_of(each.reading, known.glycol)
    return None if strength is None else (each.at, figure(strength, "mass_fraction"))


def _trend(place: Place, points: Sequence[Point]) -> Trend:
    last = sorted(points, key=lambda point: point[0])[-LAST_READINGS:]
    since, (_, latest) = last[0][0], last[-1]
    slope = theil_sen([(at - since) / DAY for at, _ in last], [value.value for _, value in last])
    limits: dict[str, Quantity | None] = {"per_30_days": None, "low": None, "high": None}
    if slope is not None:
        found = {"per_30_days": slope.slope, "low": slope.low, "high": slope.high}
        limits = {name: figure(each * MONTH, difference_of(latest.dimension)) for name, each in found.items()}
    return Trend(
        of=place[0],
        component=place[1],
        tap=place[2],
        readings=len(last),
        since=since,
        latest=latest,
        direction="too_few" if slope is None else slope.direction,
        source=SOURCE,
        **limits,
    )
