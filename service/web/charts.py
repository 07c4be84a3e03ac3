"""The chart of a unit's page: bath and pour temperatures of the last year, with the same numbers as a table."""

from collections.abc import Iterator
from datetime import date, timedelta

from flask import Response

from service.api.auth import STAFF
from service.api.state import caller, database, now
from service.domain.instants import local_day
from service.domain.record.unit_log import UnitLog
from service.rendering.year.charts import Chart, Series, draw
from service.rendering.year.tables import in_units, unit_of
from service.web.page import Pages

SPAN = timedelta(days=365)
SERIES = (
    ("beer as found", "beer_temperature_at_tap", "as_found", "cross"),
    ("beer as left", "beer_temperature_at_tap", "as_left", "square"),
    ("bath as found", "bath_temperature", "as_found", "ring"),
    ("bath as left", "bath_temperature", "as_left", "disc"),
)
pages = Pages("charts")


@pages.get("/units/<tag>/temperatures.svg", allow=STAFF)
def temperatures(tag: str) -> Response:
    """The chart as a picture."""
    with database().reading() as store:
        log = store.log_of(tag)
    drawn = draw(chart_of(log, local_day(now(), log.time_zone), caller().units_shown))
    return Response(drawn.encode(), content_type="image/svg+xml")


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
