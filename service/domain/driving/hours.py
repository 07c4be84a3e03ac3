"""When a site can be visited on a day: opening hours by its clock, as instants."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta

from service.domain.instants import end_of_day, start_of_day, zone
from service.domain.record.fleet import WEEKDAYS, OpeningHours

Window = tuple[int, int]  # seconds since 1970-01-01T00:00Z, first and last
_ONE_DAY = timedelta(days=1)


def clock_of(day: date, clock: str, zone_name: str) -> int:
    """The instant at which a site's clock shows a time of day [s]; one that is skipped in spring is the end of the gap.

    An hour that comes twice in autumn counts the first time.

    >>> clock_of(date(2026, 3, 8), "02:30", "America/Denver") - clock_of(date(2026, 3, 8), "01:30", "America/Denver")
    1800
    """
    hour, minute = map(int, clock.split(":"))
    if hour == 24:
        return int(start_of_day(day + _ONE_DAY, zone_name).timestamp())
    local = datetime(day.year, day.month, day.day, hour, minute, tzinfo=zone(zone_name))
    first, second = (local.replace(fold=fold).astimezone(UTC) for fold in (0, 1))
    if first <= second:
        return int(first.timestamp())
    # PEP 495: in a gap the two offsets lead to instants in the reverse order; the clock is set forward between them
    minutes = range(int(second.timestamp()), int(first.timestamp()) + 1, 60)
    return next(at for at in minutes if _wall(at, zone_name) >= local.replace(tzinfo=None))


def _wall(at: int, zone_name: str) -> datetime:
    return datetime.fromtimestamp(at, zone(zone_name)).replace(tzinfo=None)


def windows(day: date, zone_name: str, hours: Iterable[OpeningHours], closed: frozenset[int]) -> tuple[Window, ...]:
    """When a site is open on a day; none for a closed weekday, the whole day for one without opening hours.

    Hours that end after midnight go on into the next day, and those of the day before into this one.
    """
    first, last = (int(each.timestamp()) for each in (start_of_day(day, zone_name), end_of_day(day, zone_name)))
    found = []
    if day.weekday() not in closed:
        own = [each for each in hours if each.weekday == WEEKDAYS[day.weekday()]]
        found = [_window(day, each, zone_name) for each in own] or [(first, last)]
    before = day - _ONE_DAY
    if before.weekday() not in closed:
        late = (_window(before, each, zone_name) for each in hours if each.weekday == WEEKDAYS[before.weekday()])
        found += [(first, end) for _, end in late if end > first]
    return tuple(sorted(found))


def _window(day: date, hours: OpeningHours, zone_name: str) -> Window:
    end = day if hours.until > hours.from_ else day + _ONE_DAY
    return clock_of(day, hours.from_, zone_name), clock_of(end, hours.until, zone_name)


def begins(open_at: Iterable[Window], minutes: int) -> tuple[Window, ...]:
    """When work of so many minutes may begin, so that it ends while the site is open."""
    return tuple((first, last - 60 * minutes) for first, last in open_at if last - 60 * minutes >= first)


def within(some: Iterable[Window], first: int, last: int) -> tuple[Window, ...]:
    """The windows cut to those instants."""
    cut = ((max(begin, first), min(end, last)) for begin, end in some)
    return tuple((begin, end) for begin, end in cut if begin <= end)
