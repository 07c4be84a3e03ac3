"""What the search for root causes finds at one unit: facts only, which `explanation` puts into words on reading."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

TIERS = ("watch", "probable", "strong")


@dataclass(frozen=True, slots=True)
class CauseShare:
    """A cause, "unexplained" included, its probability, and whether readings or grades showed it."""

    cause: str
    probability: float
    measured: bool = False


@dataclass(frozen=True, slots=True)
class FailureEvent:
    """One failure behind a root cause, with the readings found before it as text by name.

    `preceding_failures` are those of other parts within weeks before. `present` is how far the most probable cause was
    present that day, from 0 to 1; None where that is unexplained, or an overload assumed of a rating that nobody
    recorded. Where the day is not known exactly, `stated` is what was written, `day` the last day possible, `earliest`
    the first, and `present` the mean.
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
    present: float | None = None
    stated: str | None = None
    earliest: date | None = None


@dataclass(frozen=True, slots=True)
class AfterAnother:
    """So many of the failures came soon after one of another kind; `ratio`: how often against chance, in this fleet."""

    after: str
    failures: int
    ratio: float


@dataclass(frozen=True, slots=True)
class Quiet:
    """How long nothing of the kind has failed, and how probable it is that the cause is still at work."""

    days: int
    still_at_work: float


@dataclass(frozen=True, slots=True)
class RootCauseFound:
    """A unit and component kind whose failures may have one cause; `exposed_share` is a share of the time watched.

    It is None where the cause is unexplained, or an overload assumed of a part whose rating nobody recorded.

    `chance_of_so_many` is the probability of so many failures so close together by chance, from the dates alone.
    `nameplates` are what the most probable cause is measured against, as text. `remarks` are codes with a figure or day
    where they have one.
    """

    unit: str
    component_kind: str
    tier: str
    probability_of_chance: float
    causes: tuple[CauseShare, ...]
    events: tuple[FailureEvent, ...]
    exposed_share: float | None
    expected_failures_next_year: float
    chance_of_so_many: float
    quiet: Quiet
    after_others: tuple[AfterAnother, ...]
    nameplates: Mapping[str, str]
    remarks: Mapping[str, str | int]
    evidence_key: str
