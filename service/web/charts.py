"""The chart of a unit's page: bath and pour temperatures of the last year, with the same numbers as a table."""

from collections.abc import Iterator
from datetime import date, timedelta

from markupsafe import Markup

from service.domain.record.unit_log import UnitLog
from service.rendering.year.charts import Chart, Series, draw
from service.rendering.year.tables import in_units, unit_of

SPAN = timedelta(days=365)
SERIES = (
    ("beer as found", "beer_temperature_at_tap", "as_found", "cross"),
    ("beer as left", "beer_temperature_at_tap", "as_left", "square"),
    ("bath as found", "bath_temperature", "as_found", "ring"),
    ("bath as left", "bath_temperature", "as_left", "disc"),
)


def drawing(chart: Chart) -> Markup:
    """The chart as a part of the page, so that a page that is kept for when there is no connection has it."""
    return Markup("" if chart.empty else draw(chart))  # noqa: S704 - the renderer escapes every text


def chart_of(log: UnitLog, today: date, system: str) -> Chart:
    """Bath and pour temperatures of the year before a day."""
    return Chart(
        title="Bath and pour temperatures",
        unit=unit_of("temperature", system),
        series=tuple(
            Series(name, tuple(_points(log, (quantity, when), today, system)), mark, joined=False)
            for name, quantity, when, mark in SERIES
        ),
        first=today - SPAN,
        last=today,
    )


def _points(log: UnitLog, wanted: tuple[str, str], today: date, system: str) -> Iterator[tuple[date, float]]:
    for each in log.readings():
        if (each.reading.quantity, each.reading.when) == wanted and today - SPAN <= each.on <= today:
            value = in_units(each.reading.value, system)
            if value is not None:
                yield each.on, value
