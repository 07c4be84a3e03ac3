"""The charts of a unit's page: bath and pour temperatures of the last year, as narrow as a phone.

The same numbers stand in a table below them.
"""

from collections.abc import Iterator
from datetime import date, timedelta

from markupsafe import Markup

from service.domain.assessment.bands import BEER_UNDER
from service.domain.bench.figures import figure
from service.domain.quantities import Quantity, format_quantity
from service.domain.record.unit_log import UnitLog
from service.rendering.year.chart import Chart, Series
from service.rendering.year.charts import draw
from service.rendering.year.tables import in_units, unit_of

SPAN = timedelta(days=365)
WIDTH, HEIGHT = 226, 70
MOMENTS = (("as found", "as_found", "ring"), ("as left", "as_left", "disc"))
Limit = tuple[str, Quantity | None]


def drawing(chart: Chart) -> Markup:
    """The chart as a part of the page, so that a page that is kept for when there is no connection has it."""
    return Markup(draw(chart))  # noqa: S704 - the renderer escapes every text


def charts_of(log: UnitLog, today: date, system: str) -> list[Chart]:
    """Bath and pour temperatures of the year before a day, as far as there are any, with what they are held against."""
    bath = log.unit.bath
    at, warmest = bath.set_point if bath else None, figure(BEER_UNDER, "temperature")
    found = (
        _chart(log, today, system, ("Bath temperature", "bath", "bath_temperature"), ("set to", at)),
        _chart(log, today, system, ("Pour temperature", "beer", "beer_temperature_at_tap"), ("under", warmest)),
    )
    return [chart for chart in found if not chart.empty]


def _chart(log: UnitLog, today: date, system: str, names: tuple[str, str, str], limit: Limit) -> Chart:
    title, short, quantity = names
    words, at = limit
    value = in_units(at, system) if at else None
    return Chart(
        title=title,
        unit=unit_of("temperature", system),
        series=tuple(
            Series(f"{short} {moment}", tuple(_points(log, (quantity, when), today, system)), mark, joined=False)
            for moment, when, mark in MOMENTS
        ),
        limits=() if at is None or value is None else ((f"{words} {format_quantity(at, system)}", value),),
        first=today - SPAN,
        last=today,
        width=WIDTH,
        height=HEIGHT,
    )


def _points(log: UnitLog, wanted: tuple[str, str], today: date, system: str) -> Iterator[tuple[date, float]]:
    for each in log.readings():
        if (each.reading.quantity, each.reading.when) == wanted and today - SPAN <= each.on <= today:
            value = in_units(each.reading.value, system)
            if value is not None:
                yield each.on, value
