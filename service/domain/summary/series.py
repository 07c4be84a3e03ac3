"""What was measured through the year, one point a visit."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from service.domain.bench.figures import SHARE, figure
from service.domain.condition import Derived, ToldReading, Worry
from service.domain.condition_figures import MARGIN_SOURCE, Known, derived
from service.domain.physics.condenser import SPLIT_ALARM
from service.domain.physics.glycol_protection import LEAST_MARGIN
from service.domain.quantities import Quantity
from service.domain.summary.records import UnitRecord
from service.domain.summary.summary import (
    BeforeAfter,
    CondenserPoint,
    CurrentPoint,
    GlycolPoint,
    GlycolYear,
    ReadingLine,
    VisitLine,
)
from service.domain.visits import Reading

CLEANINGS = ("condenser_clean", "condenser_deep_clean")
Figures = Mapping[str, Derived]


def reading_lines(record: UnitRecord, visits: Sequence[VisitLine]) -> tuple[ReadingLine, ...]:
    """Every reading of these visits, in the order told."""
    return tuple(
        ReadingLine(
            visit=visit.id,
            unit=visit.unit,
            on=visit.on,
            quantity=each.quantity,
            component=each.component,
            tap=each.tap,
            when=each.when,
            value=each.value,
            sample_temperature=each.sample_temperature,
            evidence=each.evidence,
        )
        for visit in visits
        for each in record.readings.get(visit.id, ())
    )


def told_by(record: UnitRecord, visits: Iterable[VisitLine]) -> list[ToldReading]:
    """The readings of some visits, each with its instant as well as that is known."""
    return [
        ToldReading(each, each.at or (visit.left_at if each.when == "as_left" else None) or visit.arrived_at, visit.id)
        for visit in visits
        for each in record.readings.get(visit.id, ())
    ]


def figures_of(record: UnitRecord, visit: VisitLine, known: Known) -> Figures:
    """What follows from the readings of one visit, by the figure's name."""
    told = told_by(record, (visit,))
    return {each.of: each for each in derived(told, known)[0]} if told else {}


def worries(record: UnitRecord, visits: Sequence[VisitLine], known: Known) -> tuple[Worry, ...]:
    """What the latest readings of the year say is wrong."""
    return derived(told_by(record, visits), known)[1]


def before_after(record: UnitRecord, visits: Sequence[VisitLine], quantity: str) -> tuple[BeforeAfter, ...]:
    """A temperature as found and as left at each visit that read it, tap by tap."""
    return tuple(
        BeforeAfter(
            visit=visit.id,
            on=visit.on,
            tap=tap or None,
            as_found=_last(found, "as_found"),
            as_left=_last(found, "as_left"),
        )
        for visit in visits
        for tap, found in sorted(_by_tap(record.readings.get(visit.id, ()), quantity).items())
    )


def _by_tap(readings: Iterable[Reading], quantity: str) -> dict[str, list[Reading]]:
    found: dict[str, list[Reading]] = {}
    for each in readings:
        if each.quantity == quantity:
            found.setdefault(each.tap or "", []).append(each)
    return found


def _last(readings: Sequence[Reading], when: str) -> Quantity | None:
    """As found the first one told counts, as left the last one."""
    values = [each.value for each in readings if each.when == when]
    return (values[0] if when == "as_found" else values[-1]) if values else None


def glycol(by_visit: Sequence[tuple[VisitLine, Figures]], known: Known) -> GlycolYear:
    """Strength, freezing point and margin at each visit that measured the strength."""
    points = (_glycol_point(visit, figures) for visit, figures in by_visit if "glycol_strength" in figures)
    return GlycolYear(
        points=tuple(points),
        least_margin=figure(LEAST_MARGIN, "temperature_difference"),
        least_margin_source=MARGIN_SOURCE,
        target=None if known.target is None else figure(known.target, "mass_fraction"),
    )


def _glycol_point(visit: VisitLine, figures: Figures) -> GlycolPoint:
    freezing, margin = figures.get("glycol_freezing_point"), figures.get("freeze_margin")
    return GlycolPoint(
        visit=visit.id,
        on=visit.on,
        strength=figures["glycol_strength"].value,
        freezing_point=freezing.value if freezing else None,
        coldest=margin.beside if margin else None,
        coldest_is=margin.beside_is if margin else None,
        margin=margin.value if margin else None,
    )


def condenser(
    record: UnitRecord, by_visit: Sequence[tuple[VisitLine, Figures]], known: Known
) -> tuple[CondenserPoint, ...]:
    """The condenser as found and its split, at each visit that told either."""
    finds = {each.on: each.as_found for each in record.performed if each.task in CLEANINGS and each.as_found}
    clean = known.clean_split
    points = (
        CondenserPoint(
            visit=visit.id,
            on=visit.on,
            as_found=finds.get(visit.on),
            split=figures["condenser_split"].value if "condenser_split" in figures else None,
            clean_split=None if clean is None else figure(clean, "temperature_difference"),
            split_limit=None if clean is None else figure(clean + SPLIT_ALARM, "temperature_difference"),
        )
        for visit, figures in by_visit
    )
    return tuple(point for point in points if point.as_found or point.split)


def currents(lines: Iterable[ReadingLine], known: Known) -> tuple[CurrentPoint, ...]:
    """Every current read, beside its component's rating."""
    return tuple(_current(line, known.ratings.get(line.component or "")) for line in _only(lines, "current"))


def _only(lines: Iterable[ReadingLine], quantity: str) -> Iterator[ReadingLine]:
    return (line for line in lines if line.quantity == quantity)


def _current(line: ReadingLine, rated: Quantity | None) -> CurrentPoint:
    return CurrentPoint(
        visit=line.visit,
        on=line.on,
        component=line.component or "",
        when=line.when,
        current=line.value,
        rated=rated,
        share=figure(line.value.value / rated.value, SHARE) if rated and rated.value else None,
    )
