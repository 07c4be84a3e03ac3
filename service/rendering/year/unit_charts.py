"""The charts of a unit's year."""

from collections.abc import Callable, Iterable
from datetime import date

from service.domain.maintenance.tasks import AS_FOUND
from service.domain.quantities import Quantity, format_quantity
from service.domain.record.visits import FOULING
from service.domain.summary.document import ServiceSummary, UnitSummary
from service.domain.summary.lines import Outage
from service.domain.summary.measured import BeforeAfter
from service.rendering.year.charts import Chart, Series, Spell
from service.rendering.year.tables import at_site, hours, in_units, unit_of, words

OUTAGE = "no cold beer"
REASONS = (
    ("failed", "failed", "cross"),
    ("as a precaution", "precaution", "ring"),
    ("upgrade", "upgrade", "disc"),
    ("reason unknown", "unknown", "square"),
)


def charts(unit: UnitSummary, summary: ServiceSummary) -> tuple[Chart, ...]:
    """The charts of a unit's page, empty ones among them."""
    return tuple(make(unit, summary) for make in (_margin, _temperatures, _condenser, _split, _failures))


def _margin(unit: UnitSummary, summary: ServiceSummary) -> Chart:
    shown = summary.units_shown
    least = unit.glycol.least_margin
    points = _points(((each.on, each.margin) for each in unit.glycol.points), shown)
    return Chart(
        title="Freezing margin of the glycol",
        unit=unit_of("temperature_difference", shown),
        series=(Series("margin", points, "disc"),),
        limits=((f"least margin {format_quantity(least, shown)}", in_units(least, shown) or 0.0),),
        note=f"{_target(unit, shown)}Least margin {format_quantity(least, shown)}: {unit.glycol.least_margin_source}.",
        first=summary.first_day,
        last=summary.last_day,
    )


def _target(unit: UnitSummary, shown: str) -> str:
    target = unit.glycol.target
    return "" if target is None else f"Target strength {format_quantity(target, shown)}. "


def _temperatures(unit: UnitSummary, summary: ServiceSummary) -> Chart:
    shown = summary.units_shown
    series = (
        Series("beer as found", _found(unit.beer, shown), "cross", joined=False),
        Series("beer as left", _left(unit.beer, shown), "square", joined=False),
        Series("bath as found", _found(unit.bath, shown), "ring", joined=False),
        Series("bath as left", _left(unit.bath, shown), "disc", joined=False),
    )
    return Chart(
        title="Bath and pour temperatures",
        unit=unit_of("temperature", shown),
        series=series,
        first=summary.first_day,
        last=summary.last_day,
    )


def _condenser(unit: UnitSummary, summary: ServiceSummary) -> Chart:
    found = tuple((each.on, float(AS_FOUND.index(each.as_found))) for each in unit.condenser if each.as_found)
    return Chart(
        title="Condenser as found",
        unit="",
        lanes=tuple(FOULING[each] for each in AS_FOUND),
        series=(Series("as found", found, "disc", joined=False),),
        first=summary.first_day,
        last=summary.last_day,
    )


def _split(unit: UnitSummary, summary: ServiceSummary) -> Chart:
    """The limit is that of the latest split; the clean one is drawn beside it."""
    shown = summary.units_shown
    known = [each for each in unit.condenser if each.split]
    latest = known[-1] if known else None
    drawn = (("clean", latest.clean_split), ("limit", latest.split_limit)) if latest else ()
    return Chart(
        title="Condenser split",
        unit=unit_of("temperature_difference", shown),
        series=(Series("split", _points(((each.on, each.split) for each in known), shown), "disc"),),
        limits=tuple((f"{name} {format_quantity(at, shown)}", in_units(at, shown) or 0.0) for name, at in drawn if at),
        first=summary.first_day,
        last=summary.last_day,
    )


def _failures(unit: UnitSummary, summary: ServiceSummary) -> Chart:
    """Replacements on a lane for each kind of component, outages on one of their own on top."""
    kinds = sorted({each.kind for each in unit.replacements}, reverse=True)
    lanes = (*(words(each) or "" for each in kinds), *([OUTAGE] if unit.outages else []))
    series = []
    for name, reason, mark in REASONS:
        of = [each for each in unit.replacements if each.reason == reason]
        series.append(Series(name, tuple((each.on, float(kinds.index(each.kind))) for each in of), mark, joined=False))
    return Chart(
        title="Failures, replacements and outages",
        unit="",
        lanes=lanes,
        series=tuple(series),
        spells=tuple(_spell(each, unit, lane=len(kinds)) for each in unit.outages),
        first=summary.first_day,
        last=summary.last_day,
    )


def _spell(outage: Outage, unit: UnitSummary, *, lane: int) -> Spell:
    start, end = at_site(outage.started_at, unit), at_site(outage.restored_at, unit)
    seen, estimated = hours(outage.seen), hours(outage.estimated)
    length = f"about {estimated:.1f} h, {seen:.1f} h of it seen"
    return Spell(lane, start.date() if start else outage.started_at.date(), end.date() if end else None, length)


def _found(pairs: Iterable[BeforeAfter], system: str) -> tuple[tuple[date, float], ...]:
    return _points(((each.on, each.as_found) for each in pairs), system)


def _left(pairs: Iterable[BeforeAfter], system: str) -> tuple[tuple[date, float], ...]:
    return _points(((each.on, each.as_left) for each in pairs), system)


def _points(values: Iterable[tuple[date, Quantity | None]], system: str) -> tuple[tuple[date, float], ...]:
    read: Callable[[Quantity | None], float | None] = lambda each: in_units(each, system)  # noqa: E731
    return tuple((on, number) for on, value in values if (number := read(value)) is not None)
