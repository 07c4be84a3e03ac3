"""Read days as a shop writes them, strictly: what could be two days is refused, never chosen."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

MONTHS = (
    *("january", "february", "march", "april", "may", "june"),
    *("july", "august", "september", "october", "november", "december"),
)
DAY_FIRST, MONTH_FIRST, BY_NEIGHBOURS = "day first", "month first", "by neighbours"
ORDERS = (DAY_FIRST, MONTH_FIRST, BY_NEIGHBOURS)
WEEKDAY = re.compile(r"^(?:mon|tue|tues|wed|thu|thur|thurs|fri|sat|sun)[a-z]*\.?,? +", re.IGNORECASE)
TIME = re.compile(
    r"[ T,]+(?:at +)?([0-9]{1,2})(?::([0-9]{2}))(?::[0-9]{2})? *([ap]m)?$|[ ,]+([0-9]{1,2}) *([ap]m)$", re.I
)
ISO = re.compile(r"([0-9]{4})[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})")
NUMERIC = re.compile(r"([0-9]{1,2}) ?([-/.]) ?([0-9]{1,2})(?: ?\2 ?'?([0-9]{4}|[0-9]{2}))?\.?")
COMPACT = re.compile(r"(19|20)[0-9]{6}")
DAY_MONTH = re.compile(
    r"([0-9]{1,2})(?:st|nd|rd|th)?[-/. ]*([a-z]{3,9})\.?(?:[-/,. ]+'?([0-9]{4}|[0-9]{2}))?", re.IGNORECASE
)
MONTH_DAY = re.compile(
    r"([a-z]{3,9})\.? *([0-9]{1,2})(?:st|nd|rd|th)?(?:[-/,. ]+'?([0-9]{4}|[0-9]{2}))?", re.IGNORECASE
)
SERIALS = range(20_000, 80_000)  # 1954 to 2119


class Ambiguous(ValueError):
    """The text can be two days; `days` are both."""

    def __init__(self, text: str, days: tuple[date, date], separator: str) -> None:
        self.days, self.separator = days, separator
        super().__init__(f"{text!r} can be {days[0]} or {days[1]}; write the order of dates with {separator!r}")


class NoYear(ValueError):
    """The text has no year, and none is known."""


@dataclass(frozen=True, slots=True)
class DateStyle:
    """How days are written: the order by separator, the year of those without one, day 0 of serial numbers."""

    orders: Mapping[str, str] = field(default_factory=dict)
    year: int | None = None
    epoch: date = date(1899, 12, 30)


def parts_of(text: str) -> tuple[str, tuple[int, int | None] | None]:
    """The day's text and the time of day that follows it, if one does.

    >>> parts_of("Tue 3/14/24 2:30 pm")
    ('3/14/24', (14, 30))
    """
    text = WEEKDAY.sub("", text.strip())
    found = TIME.search(text)
    if found is None:
        return text, None
    hour, minute = int(found[1] or found[4]), int(found[2] or 0)
    half = (found[3] or found[5] or "").lower()
    hour = hour % 12 + (12 if half == "pm" else 0) if half else hour
    return (text[: found.start()], (hour, minute)) if hour < 24 and minute < 60 else (text, None)


def parse(text: str, style: DateStyle) -> date:
    """The day; ValueError says what is wrong, Ambiguous when the order of day and month is not known.

    >>> parse("14.3.24", DateStyle()).isoformat(), parse("Mar 5, 2024", DateStyle()).isoformat()
    ('2024-03-14', '2024-03-05')
    """
    written = parts_of(text)[0].strip(" ,")
    if found := ISO.fullmatch(written):
        return _day(text, int(found[1]), int(found[2]), int(found[3]))
    if COMPACT.fullmatch(written):
        return _day(text, int(written[:4]), int(written[4:6]), int(written[6:]))
    if found := NUMERIC.fullmatch(written):
        year = _year(text, found[4], style)
        return _ordered(text, year, int(found[1]), int(found[3]), found[2], style)
    for pattern, day, month in ((DAY_MONTH, 1, 2), (MONTH_DAY, 2, 1)):
        found = pattern.fullmatch(written)
        number = month_number(found[month]) if found else None
        if found and number:
            return _day(text, _year(text, found[3], style), number, int(found[day]))
    raise ValueError(f"{text!r} is not a day; write it as 2026-03-14")


def month_number(name: str) -> int | None:
    """The number of a month by its name or the beginning of it."""
    name = "sep" if name.lower() == "sept" else name.lower()
    return next((n for n, month in enumerate(MONTHS, 1) if len(name) >= 3 and month.startswith(name)), None)


def of_serial(number: float, style: DateStyle) -> date:
    """The day of a serial number, which a spreadsheet shows as a date or not; ValueError for another number."""
    if int(number) not in SERIALS:
        raise ValueError(f"{number:g} is a number, not a day; write it as 2026-03-14")
    return style.epoch + timedelta(days=int(number))


def both_ways(text: str) -> tuple[str, bool | None, bool | None] | None:
    """Separator, and whether the text can be read day first and month first; None for another kind of text."""
    found = NUMERIC.fullmatch(parts_of(text)[0].strip(" ,"))
    return None if found is None else (found[2], int(found[3]) <= 12, int(found[1]) <= 12)


def _ordered(text: str, year: int, first: int, second: int, separator: str, style: DateStyle) -> date:
    order = style.orders.get(separator)
    if order == DAY_FIRST:
        return _day(text, year, second, first)
    if order == MONTH_FIRST:
        return _day(text, year, first, second)
    days = [_maybe(year, second, first), _maybe(year, first, second)]
    known = [day for day in dict.fromkeys(days) if day is not None]
    if len(known) == 2:
        raise Ambiguous(text, (known[0], known[1]), separator)
    if not known:
        raise ValueError(f"{text!r} is not a day of the calendar")
    return known[0]


def _year(text: str, written: str | None, style: DateStyle) -> int:
    if written is None:
        if style.year is None:
            raise NoYear(f"{text!r} has no year, and no row above it names one")
        return style.year
    return int(written) + (2000 if len(written) == 2 else 0)


def _maybe(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def _day(text: str, year: int, month: int, day: int) -> date:
    found = _maybe(year, month, day)
    if found is None:
        raise ValueError(f"{text!r} is not a day of the calendar")
    return found


def day_of(value: object) -> date | None:
    """The day of a cell that holds one."""
    if isinstance(value, datetime):
        return value.date()
    return value if isinstance(value, date) else None
