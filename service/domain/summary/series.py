"""What was measured at a unit through the year, one point a visit."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from service.domain.bench.figures import SHARE, figure
from service.domain.condition import figures as rules
from service.domain.condition.figures import MARGIN_SOURCE, Known, derived
from service.domain.condition.latest import Derived
from service.domain.maintenance.tasks import AS_FOUND
from service.domain.messages import term
from service.domain.physics.glycol.protection import LEAST_MARGIN
from service.domain.physics.refrigeration.condenser import SPLIT_ALARM
from service.domain.quantities import Quantity
from service.domain.record.unit_log import ReadingTaken, readings_at
from service.domain.record.visits import TaskResult, Visit
from service.domain.summary.lines import CLEANINGS, RefrigerantMove
from service.domain.summary.measured import BeforeAfter, CondenserPoint, CurrentPoint, GlycolPoint, GlycolYear

SPLIT = "condenser_split"

REFRIGERANT = {"refrigerant_added": "added", "refrigerant_recovered": "recovered"}


@dataclass(frozen=True, slots=True)
class VisitFigures:
    """A visit and its day, its readings, and the figures that follow from them, by name."""

    visit: Visit
    on: date
    readings: Sequence[ReadingTaken]
    figures: Mapping[str, Derived]


def visit_figures(visit: Visit, known: Known) -> VisitFigures:
    """A visit with its readings and what follows from them."""
    readings = readings_at(visit)
    figures = derived(readings, known, (rules.glycol, rules.splits)) if readings else ()
    return VisitFigures(visit, visit.day, readings, {each.of: each for each in figures})


def before_after(by_visit: Sequence[VisitFigures], quantity: str) -> tuple[BeforeAfter, ...]:
    """A temperature as found and as left at each visit that read it, tap by tap."""
    return tuple(
        BeforeAfter(
            visit=one.visit.id,
            on=one.on,
            tap=tap or None,
            as_found=_last(found, "as_found"),
            as_left=_last(found, "as_left"),
        )
        for one in by_visit
        for tap, found in sorted(_by_tap(one.readings, quantity).items())
    )


def _by_tap(readings: Iterable[ReadingTaken], quantity: str) -> dict[str, list[ReadingTaken]]:
    found: dict[str, list[ReadingTaken]] = {}
    for each in readings:
        if each.reading.quantity == quantity:
            found.setdefault(each.reading.tap or "", []).append(each)
    return found


def _last(readings: Sequence[ReadingTaken], moment: str) -> Quantity | None:
    """As found the first one counts, as left the last one."""
    values = [each.reading.value for each in readings if each.reading.when == moment]
    return (values[0] if moment == "as_found" else values[-1]) if values else None


def glycol(by_visit: Sequence[VisitFigures], known: Known) -> GlycolYear:
    """Strength, freezing point and margin at each visit that measured the strength."""
    return GlycolYear(
        points=tuple(_glycol_point(one) for one in by_visit if "glycol_strength" in one.figures),
        least_margin=figure(LEAST_MARGIN, "temperature_difference"),
        least_margin_source=MARGIN_SOURCE,
        target=None if known.target is None else figure(known.target, "mass_fraction"),
        not_converted=sum(_read(one) and "glycol_strength" not in one.figures for one in by_visit),
    )


def _read(one: VisitFigures) -> bool:
    """Whether a visit read the strength of the glycol."""
    return any(each.reading.quantity == "glycol_strength" for each in one.readings)


def _glycol_point(one: VisitFigures) -> GlycolPoint:
    freezing, margin = one.figures.get("glycol_freezing_point"), one.figures.get("freeze_margin")
    return GlycolPoint(
        visit=one.visit.id,
        on=one.on,
        strength=one.figures["glycol_strength"].value,
        freezing_point=freezing.value if freezing else None,
        coldest=margin.beside if margin else None,
        coldest_is=term(margin.beside_is) if margin and margin.beside_is else None,
        margin=margin.value if margin else None,
    )


def condenser(by_visit: Sequence[VisitFigures], known: Known) -> tuple[CondenserPoint, ...]:
    """The condenser as found and its split, at each visit that recorded either."""
    points = (_condenser_point(one, known.clean_split) for one in by_visit)
    return tuple(point for point in points if point.as_found is not None or point.split is not None)


def _condenser_point(one: VisitFigures, clean: float | None) -> CondenserPoint:
    return CondenserPoint(
        visit=one.visit.id,
        on=one.on,
        as_found=found_at(one.visit.tasks),
        split=one.figures[SPLIT].value if SPLIT in one.figures else None,
        clean_split=None if clean is None else figure(clean, "temperature_difference"),
        split_limit=None if clean is None else figure(clean + SPLIT_ALARM, "temperature_difference"),
    )


def found_at(tasks: Iterable[TaskResult]) -> str | None:
    """The condenser as it was found at a visit; of several grades the worst."""
    grades = [each.as_found for each in tasks if each.task in CLEANINGS and each.as_found is not None]
    return max(grades, key=AS_FOUND.index, default=None)


def currents(readings: Iterable[ReadingTaken], known: Known) -> tuple[CurrentPoint, ...]:
    """Every current read, beside its component's rating."""
    found = (each for each in readings if each.reading.quantity == "current")
    return tuple(_current(each, known.ratings.get(each.reading.component or "")) for each in found)


def _current(taken: ReadingTaken, rated: Quantity | None) -> CurrentPoint:
    current = taken.reading.value
    return CurrentPoint(
        visit=taken.visit,
        on=taken.on,
        component=taken.reading.component or "",
        when=taken.reading.when,
        current=current,
        rated=rated,
        share=figure(current.value / rated.value, SHARE) if rated and rated.value else None,
    )


def refrigerant_moves(tag: str, readings: Iterable[ReadingTaken]) -> tuple[RefrigerantMove, ...]:
    """Each amount of refrigerant recorded, in the order recorded."""
    return tuple(
        RefrigerantMove(
            unit=tag,
            visit=each.visit,
            on=each.on,
            what=REFRIGERANT[each.reading.quantity],
            mass=each.reading.value,
        )
        for each in readings
        if each.reading.quantity in REFRIGERANT
    )
