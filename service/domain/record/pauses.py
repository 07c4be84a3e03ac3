"""Pauses of a unit and closures of a site: spans of days in which nothing falls due."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import lru_cache
from operator import attrgetter
from typing import Any, Literal, NamedTuple

from service.domain.instants import at_site, local_day

Of = Literal["unit", "site"]
_ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class PauseText:
    """What was recorded of a pause at an instant; `last` is its last day, None while it is open."""

    first: date
    last: date | None = None
    reason: str
    withdrawn: bool = False
    at: datetime
    by: str

    def overlaps(self, other: "PauseText") -> bool:
        """Whether the two share a day."""
        return (other.last is None or self.first <= other.last) and (self.last is None or other.first <= self.last)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pause:
    """A pause of a unit or a closure of a site, numbered within it; `texts` are all that was recorded, oldest first."""

    number: int
    texts: tuple[PauseText, ...]

    @property
    def text(self) -> PauseText:
        """What holds."""
        return self.texts[-1]

    @property
    def version(self) -> int:
        """How often it was recorded."""
        return len(self.texts)


class Span(NamedTuple):
    """Days out of service, the first and the last included; `last` is None while it is open.

    `known_on` is the day on which it was first recorded; `of`: the unit is paused or its site is closed.
    """

    first: date
    last: date | None
    known_on: date
    of: Of

    def holds(self, day: date) -> bool:
        """Whether the day is one of them."""
        return self.first <= day and (self.last is None or day <= self.last)


def plain_text(text: PauseText) -> dict[str, Any]:
    """What was recorded of a pause, as JSON has it."""
    return {
        "from": text.first.isoformat(),
        "until": None if text.last is None else text.last.isoformat(),
        "reason": text.reason,
        "withdrawn": text.withdrawn,
        "at": at_site(text.at, "UTC"),
        "by": text.by,
    }


def known_at(pauses: Iterable[Pause], instant: datetime) -> tuple[Pause, ...]:
    """The pauses as they were recorded by an instant."""
    then = (replace(each, texts=tuple(text for text in each.texts if text.at <= instant)) for each in pauses)
    return tuple(each for each in then if each.texts)


def spans_of(pauses: Iterable[Pause], closures: Iterable[Pause], zone: str) -> tuple[Span, ...]:
    """The days out of service of a unit that its own pauses and its site's closures make, in order."""
    made: list[tuple[Of, Pause]] = [*(("unit", each) for each in pauses), *(("site", each) for each in closures)]
    found = (
        Span(each.text.first, each.text.last, local_day(each.texts[0].at, zone), of)
        for of, each in made
        if not each.text.withdrawn
    )
    return in_order(found)


def in_order(spans: Iterable[Span]) -> tuple[Span, ...]:
    """Spans by their first days."""
    return tuple(sorted(spans, key=attrgetter("first", "of")))


def span_at(away: Iterable[Span], day: date) -> Span | None:
    """The span that holds a day, None for a day in service."""
    return next((span for span in away if span.holds(day)), None) if away else None


def merged(ranges: Iterable[tuple[date, date | None]]) -> Iterator[tuple[date, date | None]]:
    """First and last days in order of the first, without overlaps and gaps of no day."""
    first: date | None = None
    last: date | None = None
    for begins, ends in sorted(ranges, key=lambda each: each[0]):
        if first is not None and (last is None or begins <= last + _ONE_DAY):
            last = None if last is None or ends is None else max(last, ends)
            continue
        if first is not None:
            yield first, last
        first, last = begins, ends
    if first is not None:
        yield first, last


def days_served(since: date, until: date, away: Sequence[Span]) -> int:
    """Days from `since` to `until` without those out of service.

    >>> days_served(date(2026, 5, 31), date(2026, 7, 1), ())
    31
    """
    days = (until - since).days
    for first, last in merged((span.first, span.last) for span in away) if away else ():
        begins, ends = max(first, since + _ONE_DAY), until if last is None else min(last, until)
        days -= max((ends - begins).days + 1, 0)
    return days


def away_text(away: Sequence[Span], out_from: date | None, due_on: date) -> str | None:
    """The days from `due_on` on at which an item is not listed, as text: "first/last", an open end empty."""
    ranges = [(span.first, span.last) for span in away if span.last is None or span.last >= due_on]
    if out_from is not None:
        ranges.append((out_from, None))
    return " ".join(f"{first}/{last or ''}" for first, last in merged(ranges)) or None


@lru_cache(maxsize=4096)
def _ranges(away: str) -> tuple[tuple[str, str], ...]:
    return tuple((first, last) for first, _, last in (each.partition("/") for each in away.split()))


def is_away(away: str | None, today: str, until: str | None = None) -> bool:
    """Whether the unit is out of service today and up to `until`; without `until` for good, as far as is known.

    >>> [is_away("2026-11-01/2027-03-31", "2026-12-24", until) for until in ("2026-12-24", "2027-04-01", None)]
    [True, False, False]
    """
    if away is None:
        return False
    for first, last in _ranges(away):
        if first <= today and (not last or today <= last):
            return not last or (until is not None and until <= last)
    return False


def back_on(away: str | None, day: date) -> date | None:
    """The day itself, or the first one behind the days out of service that hold it; None where they have no end.

    >>> back_on("2026-11-01/2027-03-31", date(2026, 12, 24))
    datetime.date(2027, 4, 1)
    """
    for first, last in _ranges(away or ""):
        if first <= day.isoformat() and (not last or day.isoformat() <= last):
            return date.fromisoformat(last) + _ONE_DAY if last else None
    return day
