"""A unit's condition: its latest readings with the ones before them, trends, and figures derived from them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from service.domain.bench.fields import described
from service.domain.bench.figures import figure
from service.domain.quantities import Quantity
from service.domain.record.unit_log import ReadingTaken

Place = tuple[str, str | None, str | None]
MOMENT = {"as_found": 0, "as_left": 1}


@dataclass(frozen=True, slots=True, kw_only=True)
class Earlier:
    """The reading before."""

    value: Quantity = field(metadata=described("as entered"))
    at: datetime = field(metadata=described("when"))
    visit: str = field(metadata=described("the visit that recorded it"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A latest reading beside the one before."""

    value: Quantity = field(metadata=described("as entered"))
    at: datetime = field(metadata=described("when; the visit's arrival or leaving where that was not noted"))
    visit: str = field(metadata=described("the visit that recorded it"))
    evidence: str = field(metadata=described("seen or reported"))
    before: Earlier | None = field(metadata=described("the one before"))
    change: Quantity | None = field(metadata=described("since then; null where the two have different dimensions"))


@dataclass(frozen=True, slots=True, kw_only=True)
class LatestReading:
    """The latest readings of one quantity at one place."""

    quantity: str = field(metadata=described("what was read"))
    component: str | None = field(metadata=described("where"))
    tap: str | None = field(metadata=described("where"))
    as_found: Standing | None = field(metadata=described("before anything was done"))
    as_left: Standing | None = field(metadata=described("when the work was done"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """Where a figure is heading, over its last readings, one a visit."""

    of: str = field(metadata=described("the figure"))
    component: str | None = field(metadata=described("where"))
    tap: str | None = field(metadata=described("where"))
    readings: int = field(metadata=described("that it rests on"))
    since: datetime = field(metadata=described("first of them"))
    latest: Quantity = field(metadata=described("last of them"))
    per_30_days: Quantity | None = field(metadata=described("slope; null with fewer than four readings"))
    low: Quantity | None = field(metadata=described("lower limit of 95 %"))
    high: Quantity | None = field(metadata=described("upper limit of 95 %"))
    direction: str = field(metadata=described("rising, falling, unclear, or too_few readings"))
    source: str = field(metadata=described("of the method"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Derived:
    """A figure that follows from readings, beside what it is held against."""

    of: str = field(metadata=described("the figure"))
    component: str | None = field(default=None, metadata=described("where"))
    value: Quantity = field(metadata=described("computed"))
    beside: Quantity | None = field(default=None, metadata=described("what it is held against"))
    beside_is: str | None = field(default=None, metadata=described("what that is"))
    difference: Quantity | None = field(default=None, metadata=described("value less beside, where they are alike"))
    at: datetime = field(metadata=described("of the reading it follows from"))
    visit: str = field(metadata=described("the visit that recorded it"))
    source: str = field(metadata=described("of the figure"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Worry:
    """Something that the figures say is wrong."""

    code: str = field(metadata=described("what"))
    component: str | None = field(default=None, metadata=described("where"))
    sentence: str = field(metadata=described("the same in a sentence"))
    source: str = field(metadata=described("of the rule"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """A figure or reading that is missing."""

    of: str = field(metadata=described("what"))
    component: str | None = field(default=None, metadata=described("where"))
    tap: str | None = field(default=None, metadata=described("where"))
    why: str = field(metadata=described("the reason"))


def latest_readings(readings: Sequence[ReadingTaken]) -> tuple[LatestReading, ...]:
    """The latest reading of each quantity and place, as found and as left, with the one before."""
    places: dict[Place, list[ReadingTaken]] = {}
    for each in readings:
        places.setdefault(each.place, []).append(each)
    return tuple(
        LatestReading(
            quantity=place[0],
            component=place[1],
            tap=place[2],
            as_found=_standing(each for each in found if each.reading.when == "as_found"),
            as_left=_standing(each for each in found if each.reading.when == "as_left"),
        )
        for place, found in sorted(places.items(), key=lambda item: tuple(part or "" for part in item[0]))
    )


def newest(readings: Iterable[ReadingTaken], quantity: str, component: str | None = None) -> ReadingTaken | None:
    """The latest reading of a quantity at a component, as found or as left."""
    return max(
        (each for each in readings if each.reading.quantity == quantity and each.reading.component == component),
        key=when,
        default=None,
    )


def when(each: ReadingTaken) -> tuple[datetime, int]:
    """By what readings are put in order: the instant, and as found before as left."""
    return each.at, MOMENT[each.reading.when]


def _standing(readings: Iterable[ReadingTaken]) -> Standing | None:
    ordered = sorted(readings, key=when)
    if not ordered:
        return None
    latest, before = ordered[-1], ordered[-2] if len(ordered) > 1 else None
    return Standing(
        value=latest.reading.value,
        at=latest.at,
        visit=latest.visit,
        evidence=latest.reading.evidence,
        before=None if before is None else Earlier(value=before.reading.value, at=before.at, visit=before.visit),
        change=None if before is None else change(before.reading.value, latest.reading.value),
    )


def change(before: Quantity, after: Quantity) -> Quantity | None:
    """After less before, where both have one dimension."""
    if before.dimension != after.dimension:
        return None
    return figure(after.value - before.value, difference_of(after.dimension))


def difference_of(dimension: str) -> str:
    """The dimension of a difference."""
    return "temperature_difference" if dimension == "temperature" else dimension
