"""Instants and days: RFC 3339 in, UTC inside, the site's local time out.

RFC 3339, "Date and Time on the Internet: Timestamps", section 5.6 gives the grammar, 5.7 what a leap second is.
"""

import re
from datetime import UTC, date, datetime, time, timedelta, timezone
from functools import lru_cache
from zoneinfo import ZoneInfo, available_timezones

FIRST_YEAR, LAST_YEAR = 1900, 2200
EXAMPLE = "2026-06-09T13:05:00-06:00"

_DAY = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})")
_INSTANT = re.compile(
    r"([0-9]{4}-[0-9]{2}-[0-9]{2})[Tt]([0-9]{2}):([0-9]{2}):([0-9]{2})(?:\.([0-9]+))?(?:[Zz]|([+-])([0-9]{2}):([0-9]{2}))"
)
_LOCAL_TIME = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})[Tt]([0-9]{2}):([0-9]{2})(?::([0-9]{2})(?:\.([0-9]+))?)?")
_PLAIN = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}:[0-5][0-9](?:Z|[+-](?:[01][0-9]|2[0-3]):[0-5][0-9])")
_SPACED = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2} +[0-9]{2}:.*")


def parse_day(text: object) -> date:
    """Read a calendar date "2026-06-09", years 1900 to 2200; raises ValueError with what is wrong.

    >>> parse_day("2026-06-09")
    datetime.date(2026, 6, 9)
    """
    found = _DAY.fullmatch(text) if isinstance(text, str) else None
    if found is None:
        raise ValueError(f"{_quoted(text)} is not a date; write year-month-day, for example 2026-06-09")
    return _day(found[0], *map(int, found.groups()))


def _day(text: str, year: int, month: int, day: int) -> date:
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise ValueError(f"{text} is outside the years {FIRST_YEAR} to {LAST_YEAR}")
    try:
        return date(year, month, day)
    except ValueError:
        raise ValueError(f"{text} is not a date") from None


def parse_instant(text: object) -> datetime:
    """Read an RFC 3339 date-time with its offset and return it in UTC; raises ValueError with what is wrong.

    Digits beyond the microsecond are dropped. The leap second 23:59:60 UTC at the end of a month, which Python's
    clock does not know, is read as the second after it.

    >>> parse_instant("2026-06-09T13:05:00-06:00").isoformat()
    '2026-06-09T19:05:00+00:00'
    """
    plain = _plain_instant(text) if isinstance(text, str) else None
    if plain is not None:
        return plain
    found = _INSTANT.fullmatch(text) if isinstance(text, str) else None
    if found is None:
        raise _instant_refusal(text)
    day, hour, minute, second, fraction, sign, offset_hours, offset_minutes = found.groups()
    _check_clock(found[0], hour, minute, second, offset_hours or "00", offset_minutes or "00")
    written = parse_day(day)
    local = datetime(
        written.year, written.month, written.day, int(hour), int(minute), min(int(second), 59),
        int((fraction or "")[:6].ljust(6, "0")), tzinfo=UTC,
    )  # fmt: skip
    east = timedelta(hours=int(offset_hours or 0), minutes=int(offset_minutes or 0))
    instant = local + east if sign == "-" else local - east
    return instant if second != "60" else _after_leap_second(found[0], instant)


def _plain_instant(text: str) -> datetime | None:
    """What nearly all clients send, read by the standard library; None for what takes more, or is refused."""
    if _PLAIN.fullmatch(text) is None:
        return None
    try:
        local = datetime.fromisoformat(text)
    except ValueError:
        return None
    return local.astimezone(UTC) if FIRST_YEAR <= local.year <= LAST_YEAR else None


LOCAL_YEARS = range(1971, 2100)  # of times without offset: an instant of these is after 1970 by every clock


def parse_site_time(text: object) -> datetime:
    """Read an instant, or a local time without offset as a datetime without time zone; raises ValueError.

    >>> parse_site_time("2026-06-09T13:05")
    datetime.datetime(2026, 6, 9, 13, 5)
    """
    plain = _plain_instant(text) if isinstance(text, str) else None
    if plain is not None:
        return plain
    found = _LOCAL_TIME.fullmatch(text) if isinstance(text, str) else None
    if found is None:
        return parse_instant(text)
    day, hour, minute, second, fraction = found.groups()
    if hour > "23" or minute > "59" or (second or "00") > "59":
        raise ValueError(f"{_quoted(text)} has no such time of day; hours go to 23, minutes and seconds to 59")
    written = parse_day(day)
    if written.year not in LOCAL_YEARS:
        years = f"{LOCAL_YEARS[0]} to {LOCAL_YEARS[-1]}"
        raise ValueError(f"{_quoted(text)} is not in the years {years}, so it needs an offset")
    clock = int(hour), int(minute), int(second or 0), int((fraction or "")[:6].ljust(6, "0"))
    return datetime(written.year, written.month, written.day, *clock)  # noqa: DTZ001 - the site's clock is not known yet


def of_local_time(local: datetime, zone_name: str) -> datetime:
    """The instant of a local time by a site's clock; raises ValueError where that shows it twice or never.

    >>> of_local_time(datetime(2026, 6, 9, 13, 5), "America/Denver").isoformat()
    '2026-06-09T19:05:00+00:00'
    """
    before, after = (local.replace(tzinfo=zone(zone_name), fold=fold) for fold in (0, 1))
    first, second = before.astimezone(UTC), after.astimezone(UTC)
    if first == second:
        return first
    text = local.isoformat()
    if first > second:  # PEP 495: in a gap the two offsets lead to instants in the reverse order
        raise ValueError(f"there is no {text} by the clock of {zone_name}, which was set forward over it")
    both = " or ".join(text + each.isoformat(timespec="minutes")[16:] for each in (before, after))
    raise ValueError(f"{text} comes twice by the clock of {zone_name}, which was set back; write {both}")


def refusal_without_offset(local: datetime) -> str:
    """Why a local time is refused where the site is not known."""
    return str(_instant_refusal(local.isoformat()))


def _check_clock(text: str, hour: str, minute: str, second: str, offset_hours: str, offset_minutes: str) -> None:
    # Two digits compare as text as they do as numbers.
    if hour > "23" or minute > "59" or second > "60":
        raise ValueError(f"{_quoted(text)} has no such time of day; hours go to 23, minutes and seconds to 59")
    if offset_hours > "23" or offset_minutes > "59":
        raise ValueError(f"{_quoted(text)} has no such offset; write Z or one like -06:00")


def _after_leap_second(text: str, instant: datetime) -> datetime:
    following = instant + timedelta(seconds=1)
    if (following.day, following.hour, following.minute) != (1, 0, 0):
        raise ValueError(f"{_quoted(text)} is no leap second; second 60 exists only at 23:59 UTC at the end of a month")
    return following


def _instant_refusal(text: object) -> ValueError:
    given = text if isinstance(text, str) else ""
    if _SPACED.fullmatch(given):
        return ValueError(f"{_quoted(text)} has a space between date and time; write the letter T there")
    if _LOCAL_TIME.fullmatch(given):
        return ValueError(f"{_quoted(text)} has no offset; write Z or -06:00 after full seconds")
    return ValueError(f"{_quoted(text)} is not an instant; write date, T, time and offset, for example {EXAMPLE}")


def _quoted(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:56]}..."


def to_text(instant: datetime) -> str:
    """The storage form: UTC, fixed width, so that text sorts as time does.

    >>> to_text(parse_instant("2026-06-09T13:05:00-06:00"))
    '2026-06-09T19:05:00.000000Z'
    """
    if instant.tzinfo is None:
        raise ValueError(f"{instant} has no time zone")
    if instant.tzinfo is not UTC:
        instant = instant.astimezone(UTC)
    return instant.isoformat(timespec="microseconds")[:26] + "Z"


def from_text(text: str) -> datetime:
    """The instant that `to_text` wrote; for stored text only, which needs no checking."""
    return datetime.fromisoformat(text)


@lru_cache(maxsize=1024)
def zone(name: str) -> ZoneInfo:
    """The IANA time zone of that name; raises ValueError that names it when there is none.

    >>> zone("America/Denver")
    zoneinfo.ZoneInfo(key='America/Denver')
    """
    # Looked up in the list and never opened as a file by the name a caller gave.
    if name not in _zone_names():
        raise ValueError(f"{_quoted(name)} is not an IANA time zone; write one like America/Denver")
    return ZoneInfo(name)


@lru_cache(maxsize=1)
def _zone_names() -> frozenset[str]:
    return frozenset(available_timezones()) - {"localtime"}  # some machines list their own setting as a zone


def at_site(instant: datetime, zone_name: str) -> str:
    """The instant in the site's local time, in RFC 3339; the fraction is written only when there is one.

    >>> at_site(parse_instant("2026-06-09T19:05:00Z"), "America/Denver")
    '2026-06-09T13:05:00-06:00'
    """
    local = instant.astimezone(zone(zone_name))
    offset = local.utcoffset() or timedelta()
    if offset.seconds % 60:  # local mean time of long ago; RFC 3339 offsets are whole minutes
        local = instant.astimezone(timezone(timedelta(minutes=offset // timedelta(minutes=1))))
    return local.isoformat()


@lru_cache(maxsize=8192)  # the day of a visit is asked for again and again while its unit is worked on
def local_day(instant: datetime, zone_name: str) -> date:
    """The calendar date at the site at that instant.

    >>> local_day(parse_instant("2026-06-10T03:00:00Z"), "America/Denver")
    datetime.date(2026, 6, 9)
    """
    return instant.astimezone(zone(zone_name)).date()


def start_of_day(day: date, zone_name: str) -> datetime:
    """The first instant of a calendar date at the site, in UTC.

    >>> start_of_day(date(2026, 6, 9), "America/Denver").isoformat()
    '2026-06-09T06:00:00+00:00'
    """
    return datetime.combine(day, time(), zone(zone_name)).astimezone(UTC)


def end_of_day(day: date, zone_name: str) -> datetime:
    """The last microsecond of a calendar date at the site, in UTC.

    >>> end_of_day(date(2026, 6, 9), "America/Denver").isoformat()
    '2026-06-10T05:59:59.999999+00:00'
    """
    following = datetime.combine(day + timedelta(days=1), time(), zone(zone_name))
    return following.astimezone(UTC) - timedelta(microseconds=1)
