"""Days that are not known exactly: a month, a year, a range of days or unknown, with the days that they allow."""

from contextlib import suppress
from datetime import date, timedelta

from service.domain.instants import parse_day
from service.domain.messages import gettext

UNKNOWN = "unknown"
BETWEEN = "/"  # of an interval of ISO 8601
LENGTH_OF_DAY = 10  # characters
LENGTHS = (4, 7)  # of a year and of a month


def parse_imprecise_day(text: object) -> str:
    """Check a day "2025-10-14", a month "2025-10" or a year "2025"; raises ValueError with what is wrong.

    >>> parse_imprecise_day("2025-10")
    '2025-10'
    """
    if isinstance(text, str) and len(text) == LENGTH_OF_DAY:
        first_day(text)
        return text
    if isinstance(text, str) and len(text) in LENGTHS:
        with suppress(ValueError):  # of a text that was filled up to a day, it would name what nobody wrote
            first_day(text)
            return text
    raise ValueError(f'{text!r} is neither a day "2025-10-14" nor a month "2025-10" nor a year "2025"')


def parse_reported_day(text: object) -> str:
    """Check a day, month, year, two of them with "/" between, or "unknown"; raises ValueError with what is wrong.

    >>> parse_reported_day("2026-08-01/2026-10-15")
    '2026-08-01/2026-10-15'
    """
    if isinstance(text, str) and text == UNKNOWN:
        return text
    ends = text.split(BETWEEN) if isinstance(text, str) else []
    if len(ends) > 2 or not all(len(end) in (*LENGTHS, LENGTH_OF_DAY) for end in ends or [""]):
        known = 'a day "2026-10-14", a month "2026-10", a year "2026", a range "2026-08-01/2026-10-15" or "unknown"'
        raise ValueError(f"{text!r} is not {known}")
    for end in ends:
        first_day(end)
    return str(text)


def first_day(text: str) -> date:
    """The first day of a day, month or year.

    >>> first_day("2025-10"), first_day("2025")
    (datetime.date(2025, 10, 1), datetime.date(2025, 1, 1))
    """
    return parse_day(text + "-01-01"[: LENGTH_OF_DAY - len(text)] if len(text) < LENGTH_OF_DAY else text)


def last_day(text: str) -> date:
    """The last day of a day, month or year.

    >>> last_day("2024-02"), last_day("2025")
    (datetime.date(2024, 2, 29), datetime.date(2025, 12, 31))
    """
    if len(text) == 4:
        return parse_day(f"{text}-12-31")
    first = first_day(text)
    return first if len(text) == LENGTH_OF_DAY else (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)


def days_of(text: str) -> tuple[date | None, date | None]:
    """The first and the last day that a reported day allows; None where it sets no limit.

    >>> days_of("2026-08-01/2026-10-15")
    (datetime.date(2026, 8, 1), datetime.date(2026, 10, 15))
    """
    if text == UNKNOWN:
        return None, None
    first, _, last = text.partition(BETWEEN)
    return first_day(first), last_day(last or first)


def is_exact(text: str) -> bool:
    """Whether a reported day names one day."""
    return len(text) == LENGTH_OF_DAY


def latest_by(text: str | None, visit_day: date) -> date:
    """The last day on which what a visit recorded can have been done; without a day it was done at the visit.

    What was reported about midnight may begin a day after the visit's own: then that day.

    >>> latest_by("2026-10", date(2026, 10, 14))
    datetime.date(2026, 10, 14)
    """
    first, last = (None, None) if text is None else days_of(text)
    if first is None or last is None:
        return visit_day
    return max(first, min(last, visit_day))


def uncertain(text: str | None, installed_on: date | None, latest: date) -> tuple[str | None, date | None]:
    """A reported day as written, and the first day possible; nothing of an exact one. `latest` is the last possible.

    No item was replaced before the unit was installed; where all days are before that, one of the dates is wrong.
    """
    if text is None or is_exact(text):
        return None, None
    first = days_of(text)[0]
    if installed_on is None or installed_on > latest:
        return text, first
    return text, max(first or installed_on, installed_on)


def in_words(text: str) -> str:
    """A reported day as part of a sentence.

    >>> [in_words(each) for each in ("2026-10-14", "2026-10", "2026", "2026-08-01/2026-10-15", "unknown")]
    ['2026-10-14', 'about 2026-10', 'in 2026', 'between 2026-08-01 and 2026-10-15', 'day unknown']
    """
    if text == UNKNOWN:
        return gettext("day unknown")
    first, _, last = text.partition(BETWEEN)
    if last:
        return gettext("between {first} and {last}", first=first, last=last)
    if len(text) not in LENGTHS:
        return text
    return gettext("about {day}", day=text) if len(text) > min(LENGTHS) else gettext("in {day}", day=text)
