"""What is known of a unit's care besides its visits: when it began, what was done before, planned first dates."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from types import MappingProxyType
from typing import NamedTuple

from service.domain.record.imprecise_days import first_day
from service.domain.record.pauses import Span, away_text, is_away


@dataclass(frozen=True, slots=True, kw_only=True)
class LastDone:
    """When a task was last done before our care, as reported: a day, a month "2025-10", a year "2025" or unknown."""

    task: str
    on: str | None = None

    @property
    def earliest(self) -> date | None:
        """The first day of what was reported: counted from it the task is due soonest."""
        return None if self.on is None else first_day(self.on)

    @property
    def exact(self) -> bool:
        """Whether the day is known."""
        return self.on is not None and len(self.on) == len("2025-10-14")


class Planned(NamedTuple):
    """The first date of a task by an onboarding plan from `since`; it holds until the task is done from then on."""

    on: date
    since: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Care:
    """`care_from` is the day of the unit, its site or its customer; None stands for the day of registration.

    `away` are the days out of service, in order. `out_from` is the first day on which the unit is no longer in our
    care: retired, or its site or customer ended.
    """

    care_from: date | None = None
    last_done: tuple[LastDone, ...] = ()
    planned: Mapping[str, Planned] = field(default_factory=lambda: MappingProxyType({}))
    away: tuple[Span, ...] = ()
    out_from: date | None = None

    def known_before(self, day: date) -> "Care":
        """What had been reported as done, planned, begun or ended before a day; a pause also where it was recorded."""
        if not (self.last_done or self.planned or self.away) and self.out_from is None:
            return self
        return replace(
            self,
            last_done=tuple(each for each in self.last_done if each.earliest is None or each.earliest < day),
            planned={task: each for task, each in self.planned.items() if each.since < day},
            away=tuple(span for span in self.away if span.first < day or span.known_on < day),
            out_from=self.out_from if self.out_from is not None and self.out_from < day else None,
        )

    def is_away(self, today: date, until: str) -> bool:
        """Whether the unit is not in our care or out of service on every day from today to `until`."""
        return is_away(away_text(self.away, self.out_from, date.min), today.isoformat(), until)

    def judged_on(self, day: date) -> "Care":
        """What was known before a day on which a task was done: what had no end yet ends the day before."""
        before = self.known_before(day)
        if not before.away and before.out_from is None:
            return before
        away = (
            span._replace(last=max(span.first, day - timedelta(days=1))) if span.last is None else span
            for span in before.away
        )
        return replace(before, away=tuple(away), out_from=None)


NOTHING_KNOWN = Care()
