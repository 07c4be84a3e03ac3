"""What the search for root causes finds at one unit."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

TIERS = ("watch", "probable", "strong")


@dataclass(frozen=True, slots=True)
class CauseShare:
    """A cause, "unexplained" included, and its probability."""

    cause: str
    probability: float


@dataclass(frozen=True, slots=True)
class FailureEvent:
    """One failure behind a root cause, with the readings found before it as text by name.

    `preceding_failures` are those of other parts within weeks before.
    """

    day: date
    component: str
    condition: str
    evidence: str
    by: str
    reason: str
    visit: str
    readings_before: Mapping[str, str] = field(default_factory=dict)
    preceding_failures: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class RootCauseFound:
    """A unit and component kind whose failures may have one cause; `exposed_share` is a share of the time watched."""

    unit: str
    component_kind: str
    tier: str
    probability_of_chance: float
    causes: tuple[CauseShare, ...]
    events: tuple[FailureEvent, ...]
    exposed_share: float | None
    other_explanations: tuple[str, ...]
    next_check: str
    remedy: str
    bring: tuple[str, ...]
    expected_failures_next_year: float
    explanation: str
    evidence_key: str
