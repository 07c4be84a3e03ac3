"""The rows and points of a unit's year, and how they are counted."""

from dataclasses import dataclass
from datetime import date, datetime

from service.domain.quantities import Quantity
from service.domain.summary.not_done import NotDone

ON_TIME, LATE, MISSED, FIRST, NEVER = "on_time", "late", "missed", "first", "never_recorded"
CLEANINGS = ("condenser_clean", "condenser_deep_clean")
PM_STATES = (ON_TIME, LATE, MISSED, FIRST, NEVER)


@dataclass(frozen=True, slots=True, kw_only=True)
class DaysOut:
    """Days out of service, both included; `last` is None without an end; `of` is unit (a pause) or site (a closure)."""

    first: date
    last: date | None
    of: str


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitLine:
    """One visit, in UTC; `on` is the day at the site, `time_on_site` till its end, `attendance` the arrival."""

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
    time_on_site: Quantity | None = None
    attendance: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeOnSite:
    """Hours on site: the `total` of the visits whose end was recorded, which are `timed` of all."""

    visits: int
    timed: int
    total: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingLine:
    """One reading of a visit in the year; `at` is the instant, where it was recorded."""

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
    at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class KindCount:
    """How many visits of one kind: by us, and by others as reported to us."""

    kind: str
    ours: int
    others: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PmLine:
    """A task that was due or done: `due_on` as it stood before, `days_late` to the day done or the period's end.

    `interval` is the one in force by then; `why` says how the due date follows, None for a first one.
    """

    unit: str
    task: str
    name: str
    due_on: date | None
    done_on: date | None
    state: str
    days_late: int | None
    as_found: str | None
    interval: str | None
    why: str | None


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
        """Those that had a due date: all but the first on record. One never recorded counts as missed."""
        return self.on_time + self.late + self.missed + self.never_recorded


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanLine:
    """A task in the coming year: the days on which it is due if each is done on its day; the first may be overdue."""

    unit: str
    task: str
    name: str
    due_on: tuple[date, ...]
    overdue: bool
    interval: str | None
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A stretch in which there was seen to be no cold beer."""

    started_at: datetime
    ended_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Outage:
    """A time without cold beer, as far as it lies in the period; all durations are times (s).

    It starts with what shows it first, `started_by` call, complaint, found, reading or outcome; `on` is the day at the
    site, or the period's first. Where a visit found what nobody had reported, it began at an unknown time, at the
    earliest at `earliest_at`, on `earliest_on`, which are None where the record does not say. `ended` is left_cold,
    found_cold, taken_as_ended, left_service or open. `seen` is what was seen, in `stretches`; `estimated` lies between
    `estimated_low` and `estimated_high`, None where the end is not known. `visit` is the first one that knew of it,
    `restored_by` the one that shows its end. `why` says what is not known.
    """

    unit: str
    on: date
    started_at: datetime
    started_by: str
    symptom: str | None
    reported_at: datetime | None
    visit: str | None
    restored_at: datetime | None
    restored_on: date | None
    restored_by: str | None
    ended: str
    began_before: bool
    begin_unknown: bool
    earliest_at: datetime | None
    earliest_on: date | None
    seen: Quantity
    estimated: Quantity
    estimated_low: Quantity
    estimated_high: Quantity | None
    stretches: tuple[Seen, ...]
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class OutageTotal:
    """Hours without cold beer in all: `outages` began in the period, `carried_over` before it.

    When `begin_unknown` of them began is not known: a visit found what nobody had reported. The end of `end_unknown`
    is not known; then `estimated_high` is None, and of those the estimate counts what was seen and what lies between.
    """

    outages: int
    carried_over: int
    begin_unknown: int
    end_unknown: int
    seen: Quantity
    estimated: Quantity
    estimated_low: Quantity
    estimated_high: Quantity | None

    @property
    def any(self) -> bool:
        """Whether there was an outage; where no time is estimated then, how long it lasted is not known."""
        return bool(self.outages or self.carried_over)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReplacementLine:
    """One item put into a component's position on a day of the year.

    Where the day is not known exactly, `stated` is what was reported and `on` the last day possible.
    """

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
    stated: str | None = None


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Refrigerant:
    """Refrigerant added and recovered (mass); None where no amount was recorded."""

    added: Quantity | None = None
    recovered: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RefrigerantMove:
    """An amount of refrigerant that one visit `added` or `recovered`."""

    unit: str
    visit: str
    on: date
    what: str
    mass: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """A cause and its probability (0 to 1)."""

    cause: str
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RootCauseLine:
    """A root cause as it stood, who decided what and why, and whether the remedy worked; days are the site's.

    `chance` is the probability of so many failures before the remedy at one and the same rate, before it and after.
    `over`: nothing has failed for so long that the cause may be gone. `assumed`: the cause follows from the days since
    a cleaning, or from a rating that nobody recorded; nobody found it so.
    """

    unit: str
    kind: str
    tier: str
    state: str
    probability_of_chance: float
    first_seen_on: date
    explanation: str
    causes: tuple[Cause, ...]
    next_check: str
    remedy: str
    over: bool
    assumed: bool
    not_done: NotDone | None
    decided_by: str | None
    decided_on: date | None
    why: str | None
    resolved_on: date | None
    failed_before: int | None
    years_before: float | None
    failed_after: int | None
    years_after: float | None
    chance: float | None
    verdict: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RootCauseCount:
    """How many root causes are in each state."""

    total: int
    open: int
    confirmed: int
    dismissed: int
    resolved: int
