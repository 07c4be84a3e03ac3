"""The rows of a service summary, and how they are counted."""

from dataclasses import dataclass
from datetime import date, datetime

from service.domain.quantities import Quantity

ON_TIME, LATE, MISSED, FIRST, NEVER = "on_time", "late", "missed", "first", "never_recorded"
PM_STATES = (ON_TIME, LATE, MISSED, FIRST, NEVER)


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitLine:
    """One visit that counts; its instants are UTC, `on` is the day at the site."""

    id: str
    unit: str
    on: date
    arrived_at: datetime
    left_at: datetime | None
    kind: str
    by: str
    evidence: str
    technician: str | None
    symptom: str | None
    reported_at: datetime | None
    words: str | None
    work: str | None
    advice: str | None
    outcome: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingLine:
    """One reading of a visit in the year."""

    visit: str
    unit: str
    on: date
    quantity: str
    component: str | None
    tap: str | None
    when: str
    value: Quantity
    sample_temperature: Quantity | None
    evidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KindCount:
    """How many visits of one kind: by us, and by others as reported to us."""

    kind: str
    ours: int
    others: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PmLine:
    """A task that was due or done: `due_on` as it stood before it was done, None where there was nothing to judge by.

    `state` is one of PM_STATES; `days_late` counts to the day done, or to the end of what was looked at when missed.
    """

    unit: str
    task: str
    name: str
    due_on: date | None
    done_on: date | None
    state: str
    days_late: int | None
    as_found: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PmCount:
    """How many tasks in each state; `share_on_time` is of those judged (0 to 1), None when none was."""

    on_time: int
    late: int
    missed: int
    first: int
    never_recorded: int
    share_on_time: float | None

    @property
    def judged(self) -> int:
        """Those with a due date that rests on an earlier performance."""
        return self.on_time + self.late + self.missed


@dataclass(frozen=True, slots=True, kw_only=True)
class Outage:
    """A time without cold beer, from the complaint to restored; `at_least` and `at_most` are durations (time, s).

    `known` is exact (the two are equal), bounded, at_least (no upper limit is known) or still_open; `why` says in a
    sentence what is known and what is not. `started_at` is the report, or the arrival where that was not noted.
    """

    unit: str
    visit: str
    symptom: str
    reported_at: datetime | None
    started_at: datetime
    restored_at: datetime | None
    restored_by: str | None
    at_least: Quantity
    at_most: Quantity | None
    known: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OutageTotal:
    """Hours without cold beer in all; `at_most` is None when any of them has no upper limit."""

    outages: int
    at_least: Quantity
    at_most: Quantity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReplacementLine:
    """One item put into a component's place on a day of the year."""

    unit: str
    component: str
    kind: str
    on: date
    reason: str
    condition: str
    evidence: str
    by: str
    visit: str
    note: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReplacementCount:
    """Replacements counted three ways; each of the three adds up to `total`."""

    total: int
    failed: int
    precaution: int
    upgrade: int
    unknown: int
    ours: int
    others: int
    seen: int
    reported: int
