"""What was measured through the year, one point a visit."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from service.domain.bench.figures import SHARE, figure
from service.domain.condition import figures as rules
from service.domain.condition.figures import MARGIN_SOURCE, SPLIT_HIGH, Known, derived
from service.domain.condition.latest import Derived, Worry, when
from service.domain.physics.glycol.protection import LEAST_MARGIN
from service.domain.physics.refrigeration.condenser import SPLIT_ALARM
from service.domain.quantities import Quantity
from service.domain.record.unit_log import ReadingTaken
from service.domain.record.visits import Reading
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

SPLIT = "condenser_split"


@dataclass(frozen=True, slots=True)
class VisitFigures:
    """A visit, its readings, and what follows from them: figures by name, and worries."""

    visit: VisitLine
    told: Sequence[ReadingTaken]
    figures: Mapping[str, Derived]
    worries: Sequence[Worry]


def told_by(record: UnitRecord, visit: VisitLine) -> list[ReadingTaken]:
    """The readings of a visit, each with its instant as well as that is known."""
    instants = {"as_found": visit.arrived_at, "as_left": visit.left_at or visit.arrived_at}
    return [_taken(each, instants, visit) for each in record.readings.get(visit.id, ())]


def _taken(line: ReadingLine, instants: Mapping[str, datetime], visit: VisitLine) -> ReadingTaken:
    reading = Reading(
        quantity=line.quantity,
        value=line.value,
        when=line.when,
        component=line.component,
        tap=line.tap,
        sample_temperature=line.sample_temperature,
        evidence=line.evidence,
    )
    return ReadingTaken(reading, line.at or instants[line.when], visit.on, visit.id)


def visit_figures(record: UnitRecord, visit: VisitLine, known: Known) -> VisitFigures:
    """A visit with its readings and what follows from them."""
    told = told_by(record, visit)
    figures, worries = derived(told, known, (rules.glycol, rules.splits)) if told else ((), ())
    return VisitFigures(visit, told, {each.of: each for each in figures}, worries)


def worries(by_visit: Sequence[VisitFigures], known: Known) -> Iterator[Worry]:
    """What the latest readings of the year say is wrong."""
    latest: dict[tuple[str, str | None], ReadingTaken] = {}
    for each in (told for one in by_visit for told in one.told):
        where = each.reading.quantity, each.reading.component
        if where not in latest or when(each) > when(latest[where]):
            latest[where] = each
    yield from derived([*latest.values()], known, (rules.glycol,))[1]
    split = [one for one in by_visit if SPLIT in one.figures]
    if split:
        last = max(split, key=lambda one: one.figures[SPLIT].at)
        yield from (each for each in last.worries if each.code == SPLIT_HIGH)
    yield from derived([*latest.values()], known, (rules.currents, rules.voltage))[1]


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


def _by_tap(readings: Iterable[ReadingLine], quantity: str) -> dict[str, list[ReadingLine]]:
    found: dict[str, list[ReadingLine]] = {}
    for each in readings:
        if each.quantity == quantity:
            found.setdefault(each.tap or "", []).append(each)
    return found


def _last(readings: Sequence[ReadingLine], moment: str) -> Quantity | None:
    """As found the first one told counts, as left the last one."""
    values = [each.value for each in readings if each.when == moment]
    return (values[0] if moment == "as_found" else values[-1]) if values else None


def glycol(by_visit: Sequence[VisitFigures], known: Known) -> GlycolYear:
    """Strength, freezing point and margin at each visit that measured the strength."""
    points = (_glycol_point(one.visit, one.figures) for one in by_visit if "glycol_strength" in one.figures)
    return GlycolYear(
        points=tuple(points),
        least_margin=figure(LEAST_MARGIN, "temperature_difference"),
        least_margin_source=MARGIN_SOURCE,
        target=None if known.target is None else figure(known.target, "mass_fraction"),
    )


def _glycol_point(visit: VisitLine, figures: Mapping[str, Derived]) -> GlycolPoint:
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


def condenser(record: UnitRecord, by_visit: Sequence[VisitFigures], known: Known) -> tuple[CondenserPoint, ...]:
    """The condenser as found and its split, at each visit that told either."""
    clean = known.clean_split
    return tuple(
        CondenserPoint(
            visit=one.visit.id,
            on=one.visit.on,
            as_found=record.finds.get(one.visit.id),
            split=one.figures[SPLIT].value if SPLIT in one.figures else None,
            clean_split=None if clean is None else figure(clean, "temperature_difference"),
            split_limit=None if clean is None else figure(clean + SPLIT_ALARM, "temperature_difference"),
        )
        for one in by_visit
        if one.visit.id in record.finds or SPLIT in one.figures
    )


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
