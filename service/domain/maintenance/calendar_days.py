"""Arithmetic on calendar days at the site: adding months, and days on which the site is open."""

from calendar import monthrange
from collections.abc import Iterable
from datetime import date, timedelta

from service.domain.maintenance.tasks import Interval
from service.domain.record import fleet
from service.domain.record.pauses import Span, span_at

WEEKDAYS = tuple(name.capitalize() for name in fleet.WEEKDAYS)  # as date.weekday() counts

_ALL_WEEKDAYS = frozenset(range(7))
_ONE_DAY = timedelta(days=1)


def add_interval(anchor: date, interval: Interval, times: int = 1) -> date:
    """`anchor` plus `times` intervals, always counted from the anchor, so that a short month never shortens the next.

    A day that the month lacks becomes its last day, as in XML Schema part 2, appendix E, and RFC 7529, SKIP=BACKWARD.
    Raises ValueError beyond the year 9999.

    >>> [add_interval(date(2026, 8, 31), Interval(6, "month"), n).isoformat() for n in (1, 2)]
    ['2027-02-28', '2027-08-31']
    """
    if interval.unit == "day":
        return date.fromordinal(anchor.toordinal() + interval.count * times)
    years, month = divmod(anchor.month - 1 + interval.count * times, 12)
    year, month, day = anchor.year + years, month + 1, anchor.day
    if day > 28 and 1 <= year <= 9999:
        day = min(day, monthrange(year, month)[1])
    return date(year, month, day)


def last_open_day(day: date, closed_weekdays: frozenset[int]) -> date:
    """The day itself or the last open day before it; 0 is Monday. The day itself when no weekday is open."""
    return _open_day(day, closed_weekdays, -_ONE_DAY)


def next_open_day(day: date, closed_weekdays: frozenset[int]) -> date:
    """The day itself or the first open day after it; 0 is Monday. The day itself when no weekday is open."""
    return _open_day(day, closed_weekdays, _ONE_DAY)


def first_day_in_service(day: date, closed_weekdays: frozenset[int], away: Iterable[Span]) -> date | None:
    """The day itself or the first open day after it that is in service; None where that is not known."""
    away = tuple(away)
    day = next_open_day(day, closed_weekdays)
    while (span := span_at(away, day)) is not None:
        if span.last is None:
            return None
        day = next_open_day(span.last + _ONE_DAY, closed_weekdays)
    return day


def _open_day(day: date, closed_weekdays: frozenset[int], step: timedelta) -> date:
    if closed_weekdays >= _ALL_WEEKDAYS:
        return day
    while day.weekday() in closed_weekdays:
        day += step
    return day
