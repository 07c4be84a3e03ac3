"""What is known of a unit's care besides its visits: when it began, what was done before, planned first dates."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from types import MappingProxyType
from typing import NamedTuple

from service.domain.instants import parse_day


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

    `out_from` is the first day on which the unit is no longer in our care: retired, or its site or customer ended.
    """

    care_from: date | None = None
    last_done: tuple[LastDone, ...] = ()
    planned: Mapping[str, Planned] = field(default_factory=lambda: MappingProxyType({}))
    out_from: date | None = None

    def known_before(self, day: date) -> "Care":
        """What had been reported as done, and planned, before a day."""
        return replace(
            self,
            last_done=tuple(each for each in self.last_done if each.earliest is None or each.earliest < day),
            planned={task: each for task, each in self.planned.items() if each.since < day},
        )


NOTHING_KNOWN = Care()


def parse_imprecise_day(text: object) -> str:
    """Check a day "2025-10-14", a month "2025-10" or a year "2025"; raises ValueError with what is wrong.

    >>> parse_imprecise_day("2025-10")
    '2025-10'
    """
    if not isinstance(text, str) or len(text) not in (4, 7, 10):
        raise ValueError(f'{text!r} is neither a day "2025-10-14" nor a month "2025-10" nor a year "2025"')
    first_day(text)
    return text


def first_day(text: str) -> date:
    """The first day of a day, month or year.

    >>> first_day("2025-10"), first_day("2025")
    (datetime.date(2025, 10, 1), datetime.date(2025, 1, 1))
    """
    return parse_day(text + "-01-01"[: 10 - len(text)] if len(text) < 10 else text)
