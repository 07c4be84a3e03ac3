"""Kinds of PM work and how often they are due."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

RESULTS = ("done", "not_done", "not_needed")
AS_FOUND = ("clean", "light", "heavy", "blocked")  # from good to bad; the order matters

CALENDAR, STEPPED, LEARNED, CONDITION = RULES = ("calendar", "stepped", "learned", "condition")
COMMON_PRACTICE = "common practice, no source"

_MONTH_DAYS = 30.4375  # 365.25 / 12
_LONGEST_DAYS = 3652  # ten years
_PLAIN = re.compile(r"([0-9]{1,5}) (day|week|month|year)s?", re.ASCII | re.IGNORECASE)
_ISO_8601 = re.compile(r"P([0-9]{1,5})([DWMY])", re.ASCII)
_MULTIPLES: Mapping[str, tuple[int, Literal["day", "month"]]] = MappingProxyType(
    {
        "day": (1, "day"), "D": (1, "day"),
        "week": (7, "day"), "W": (7, "day"),
        "month": (1, "month"), "M": (1, "month"),
        "year": (12, "month"), "Y": (12, "month"),
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Interval:
    """A whole number of days or of calendar months, from 1 day to 10 years; anything else is a ValueError."""

    count: int
    unit: Literal["day", "month"]

    def __post_init__(self) -> None:
        if self.count < 1 or self.days > _LONGEST_DAYS:
            raise ValueError(f"An interval of {self} is outside 1 day to 10 years.")

    def __str__(self) -> str:
        return f"{self.count} {self.unit}" if self.count == 1 else f"{self.count} {self.unit}s"

    @property
    def days(self) -> int:
        """Length in days for comparing; a month counts 30.4375 days, rounded. Never used to move along the calendar.

        >>> Interval(6, "month").days
        183
        """
        return self.count if self.unit == "day" else round(self.count * _MONTH_DAYS)


def parse_interval(raw: object) -> Interval:
    """Read "90 days", "2 weeks", "6 months", "1 year", or one unit of ISO 8601 such as "P90D" or "P6M".

    Weeks become days and years become months. Raises ValueError that names the value and the accepted forms.
    The ISO 8601 forms are dur-day, dur-week, dur-month and dur-year of RFC 3339, appendix A.

    >>> str(parse_interval("2 weeks")), str(parse_interval("P1Y"))
    ('14 days', '12 months')
    """
    found = isinstance(raw, str) and (_PLAIN.fullmatch(raw) or _ISO_8601.fullmatch(raw))
    if not found:
        raise ValueError(
            f'{raw!r} is not an interval; write "90 days", "2 weeks", "6 months", "1 year" or ISO 8601 "P90D", "P6M".'
        )
    unit_text = found[2] if found[0].startswith("P") else found[2].lower()
    multiple, unit = _MULTIPLES[unit_text]
    try:
        return Interval(int(found[1]) * multiple, unit)
    except ValueError:
        raise ValueError(f"{raw!r} is outside the accepted intervals, 1 day to 10 years.") from None


@dataclass(frozen=True, slots=True)
class Task:
    """One kind of PM work, at one unit or in the catalogue.

    A task either has an interval with the range it may be adapted in (shortest, longest), or none of the three: then
    only the outcome of a visit makes it due. `surroundings` holds a factor on the interval for each kind of
    surroundings (clean, dusty, greasy, outdoor); one that is not listed changes nothing. `adapts`: the fouling found
    changes the interval too. `urgency` orders the list: 1 before 2 before 3. `also_by` are larger tasks that contain
    it: done with one of them it is done too. `skills` are those that whoever does it must have. `minutes` is the
    usual time on site. `source` is that of the interval and its range.

    `rule` says what sets the date: the `calendar` alone; the interval `stepped` by what was found, which is the same
    where the task does not adapt; an interval `learned` from what was found, which ends where the chance of heavy
    fouling reaches `heavy_chance`; or the `condition`: a forecast of the `figure` that the task corrects.

    Raises ValueError when the interval is outside its own range, when only some of the three are given, or when the
    rule does not suit the task.
    """

    code: str
    name: str
    interval: Interval | None
    shortest: Interval | None
    longest: Interval | None
    minutes: int
    bring: tuple[str, ...]
    cautions: tuple[str, ...]
    source: str
    adapts: bool = False
    surroundings: tuple[tuple[str, float], ...] = ()
    applies: bool = True
    also_by: tuple[str, ...] = ()
    urgency: int = 2
    skills: tuple[str, ...] = ()
    rule: str = STEPPED
    heavy_chance: float = 0.15
    figure: str | None = None

    def __post_init__(self) -> None:
        if self.rule == LEARNED and not self.adapts:
            raise ValueError(f"{self.code} records no fouling, so no interval can be learned from it.")
        if self.rule == CONDITION and self.figure is None:
            raise ValueError(f"{self.code} corrects no figure that is forecast, so it cannot be due by its condition.")
        if self.interval is None and self.shortest is None and self.longest is None:
            return
        if self.interval is None or self.shortest is None or self.longest is None:
            raise ValueError(f"{self.code} needs an interval, a shortest and a longest one, or none of them.")
        if self.interval.days < self.shortest.days:
            raise ValueError(f"The interval {self.interval} is shorter than the shortest allowed, {self.shortest}.")
        if self.interval.days > self.longest.days:
            raise ValueError(f"The interval {self.interval} is longer than the longest allowed, {self.longest}.")

    def __hash__(self) -> int:
        """By code alone: tasks are cache keys on a hot path, where hashing every field costs what the cache saves."""
        return hash(self.code)
