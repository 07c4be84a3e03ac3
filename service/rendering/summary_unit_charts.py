"""Which charts tell the year of a unit."""

from collections.abc import Callable, Iterable
from datetime import date

from service.domain.quantities import Quantity, format_quantity
from service.domain.summary.summary import BeforeAfter, ServiceSummary, UnitSummary
from service.rendering.summary_charts import Chart, Series
from service.rendering.summary_tables import in_units, unit_of, words

FOUND = ("clean", "light", "heavy", "blocked")
REASONS = (("failed", "failed", "cross"), ("as a precaution", "precaution", "ring"), ("upgrade", "upgrade", "disc"))


def charts(unit: UnitSummary, summary: ServiceSummary) -> tuple[Chart, ...]:
    """The charts of a unit's page, empty ones among them."""
    return tuple(make(unit, summary) for make in (_margin, _temperatures, _condenser, _replacements))


def _margin(unit: UnitSummary, summary: ServiceSummary) -> Chart:
    shown = summary.units_shown
    least = unit.glycol.least_margin
    points = _points(((each.on, each.margin) for each in unit.glycol.points), shown)
    return Chart(
        title="Freezing margin of the glycol",
        unit=unit_of("temperature_difference", shown),
        series=(Series("margin", points, "disc"),),
        limits=((f"least margin {format_quantity(least, shown)}", in_units(least, shown) or 0.0),),
        first=summary.first_day,
        last=summary.last_day,
    )


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
    found = tuple((each.on, float(FOUND.index(each.as_found))) for each in unit.condenser if each.as_found in FOUND)
    return Chart(
        title="Condenser as found",
        unit="",
        lanes=FOUND,
        series=(Series("as found", found, "disc", joined=False),),
        first=summary.first_day,
        last=summary.last_day,
    )


def _replacements(unit: UnitSummary, summary: ServiceSummary) -> Chart:
    lanes = tuple(sorted({each.kind for each in unit.replacements}, reverse=True))
    series = []
    for name, reason, mark in (*REASONS, ("reason unknown", "unknown", "square")):
        of = [each for each in unit.replacements if each.reason == reason]
        series.append(Series(name, tuple((each.on, float(lanes.index(each.kind))) for each in of), mark, joined=False))
    return Chart(
        title="Failures and replacements",
        unit="",
        lanes=tuple(words(each) or "" for each in lanes),
        series=tuple(series),
        first=summary.first_day,
        last=summary.last_day,
    )


def _found(pairs: Iterable[BeforeAfter], system: str) -> tuple[tuple[date, float], ...]:
    return _points(((each.on, each.as_found) for each in pairs), system)


def _left(pairs: Iterable[BeforeAfter], system: str) -> tuple[tuple[date, float], ...]:
    return _points(((each.on, each.as_left) for each in pairs), system)


def _points(told: Iterable[tuple[date, Quantity | None]], system: str) -> tuple[tuple[date, float], ...]:
    read: Callable[[Quantity | None], float | None] = lambda each: in_units(each, system)  # noqa: E731
    return tuple((on, number) for on, value in told if (number := read(value)) is not None)
