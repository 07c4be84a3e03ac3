"""What the search for root causes reads, and what it hands back; days are the site's own dates, values SI."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

TIERS = ("watch", "probable", "confirmed")


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
