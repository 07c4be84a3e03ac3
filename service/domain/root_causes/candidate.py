"""What the search for root causes reads, and what it hands back; days are the site's own dates, values SI."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

TIERS = ("watch", "probable", "confirmed")


@dataclass(frozen=True, slots=True)
class ComponentPlace:
    """A place in the unit; `rated_current` in A, `rating` motor, ac_only or resistive."""

    code: str
    kind: str
    feeds: tuple[str, ...] = ()
    rated_current: float | None = None
    rating: str | None = None


@dataclass(frozen=True, slots=True)
class ReplacementEvent:
    """An item put in; reason, condition, evidence and by in the words of a visit, `visit` the visit's id."""

    component: str
    kind: str
    day: date
    reason: str
    condition: str
    evidence: str
    by: str
    visit: str


@dataclass(frozen=True, slots=True)
class RecordReading:
    """A reading in the SI unit of its dimension; `sample_temperature` in K."""

    quantity: str
    component: str | None
    value: float
    dimension: str
    sample_temperature: float | None
    day: date
    as_found: bool


@dataclass(frozen=True, slots=True)
class TaskEvent:
    """A task's result on a day, with what was found before it was done."""

    task: str
    day: date
    result: str
    as_found: str | None = None


@dataclass(frozen=True, slots=True)
class UnitRecord:
    """One unit's record from `start` to `end`; voltage V, `target_strength` mass fraction.

    `told_before_installation` counts what is dated before the unit was installed: one of the dates is wrong.
    """

    tag: str
    start: date
    end: date
    components: tuple[ComponentPlace, ...] = ()
    retired: bool = False
    told_before_installation: int = 0
    supply_voltage: float | None = None
    target_strength: float | None = None
    replacements: tuple[ReplacementEvent, ...] = ()
    readings: tuple[RecordReading, ...] = ()
    tasks: tuple[TaskEvent, ...] = ()


@dataclass(frozen=True, slots=True)
class CauseShare:
    """A cause, "unexplained" included, and its probability."""

    cause: str
    probability: float


@dataclass(frozen=True, slots=True)
class CandidateEvent:
    """One replacement in the case, with the readings found before it as text by name.

    `soon_after` tells which other parts failed within weeks before.
    """

    day: date
    component: str
    condition: str
    evidence: str
    by: str
    reason: str
    visit: str
    readings_before: Mapping[str, str] = field(default_factory=dict)
    soon_after: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Candidate:
    """A unit and component kind whose failures may have one cause; `exposed_share` is a share of the time watched."""

    unit: str
    component_kind: str
    tier: str
    luck_probability: float
    causes: tuple[CauseShare, ...]
    events: tuple[CandidateEvent, ...]
    exposed_share: float | None
    other_explanations: tuple[str, ...]
    next_check: str
    remedy: str
    bring: tuple[str, ...]
    expected_failures_next_year: float
    explanation: str
    evidence_key: str
