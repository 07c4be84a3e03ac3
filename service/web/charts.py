"""The charts of a unit's page: bath and pour temperatures of the last year, as narrow as a phone.

The same numbers stand in a table below them.
"""

from collections.abc import Iterator
from datetime import date, timedelta

from markupsafe import Markup

from service.domain.record.unit_log import UnitLog
from service.rendering.year.charts import Chart, Series, draw
from service.rendering.year.tables import in_units, unit_of

SPAN = timedelta(days=365)
WIDTH, HEIGHT = 200, 64
CHARTS = (("Bath temperature", "bath", "bath_temperature"), ("Pour temperature", "beer", "beer_temperature_at_tap"))
MOMENTS = (("as found", "as_found", "ring"), ("as left", "as_left", "disc"))


def drawing(chart: Chart) -> Markup:
    """The chart as a part of the page, so that a page that is kept for when there is no connection has it."""
    return Markup(draw(chart))  # noqa: S704 - the renderer escapes every text


def charts_of(log: UnitLog, today: date, system: str) -> list[Chart]:
    """Bath and pour temperatures of the year before a day, as far as there are any."""
    found = (_chart(log, today, system, *each) for each in CHARTS)
    return [chart for chart in found if not chart.empty]


def _chart(log: UnitLog, today: date, system: str, title: str, short: str, quantity: str) -> Chart:
    return Chart(
        title=title,
        unit=unit_of("temperature", system),
        series=tuple(
            Series(f"{short} {words}", tuple(_points(log, (quantity, when), today, system)), mark, joined=False)
            for words, when, mark in MOMENTS
        ),
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
