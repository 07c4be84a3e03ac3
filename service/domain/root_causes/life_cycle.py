"""The life cycle of a root cause: open, confirmed, dismissed, resolved, with who decided and why."""

from dataclasses import dataclass, replace
from datetime import date, datetime

from service.domain.errors import Conflict, Fault, Invalid

STATES = ("open", "confirmed", "dismissed", "resolved")
DECISIONS = STATES[1:]
VERDICTS = TOO_EARLY, IT_WORKED, STILL_FAILING = ("too early to say", "it worked", "still failing")  # of a remedy
ACTION_TIERS = ("probable", "strong")  # what a technician is to check; the tier watch is only listed


@dataclass(frozen=True, slots=True, kw_only=True)
class RootCause:
    """A root cause at one unit and component kind; `document` is what was last found as JSON text, `why` the note.

    `evidence_key` names the failures that it rests on, with ";" between them.
    `absent_since` is since when a decided one is not found any more; `after_remedy` is that test as JSON text.
    """

    unit: str
    kind: str
    tier: str
    probability_of_chance: float
    document: str
    evidence_key: str
    first_seen: datetime
    updated_at: datetime
    state: str = "open"
    decided_by: str | None = None
    decided_at: datetime | None = None
    why: str | None = None
    resolved_on: date | None = None
    after_remedy: str | None = None
    absent_since: datetime | None = None
    version: int = 1
    id: int = 0

    @property
    def returned_from(self) -> str | None:
        """The decision after which it is open again; who, when and why are those of that decision."""
        if self.state != "open" or self.decided_at is None:
            return None
        return "dismissed" if self.resolved_on is None else "resolved"


@dataclass(frozen=True, slots=True)
class Decision:
    """What somebody decided on a root cause, when and why; or that it came back, which the search found."""

    at: datetime
    by: str
    state: str
    why: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RootCauseFilter:
    """How to narrow the list."""

    tier: str | None = None
    state: str | None = None
    customer: str | None = None
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class RootCauseCheck:
    """What a technician is to check while at a unit because of a root cause, whose identity is `id`."""

    id: int
    unit: str
    component_kind: str
    tier: str
    state: str
    cause: str
    next_check: str
    bring: tuple[str, ...]


def decided(former: RootCause, state: str, why: str, *, by: str, at: datetime, today: date) -> RootCause:
    """The root cause as somebody decided it; `today` is the site's date, on which a remedy counts as made.

    Raises Invalid for a state that nobody decides or a missing note, Conflict when it stands so already.
    """
    if state not in DECISIONS:
        raise Invalid([Fault("state", state, "one of: " + ", ".join(DECISIONS))])
    if not why.strip():
        raise Invalid([Fault("note", why, "a decision says why")])
    if state == former.state:
        raise Conflict(f"It is {state} already.")
    return replace(
        former,
        state=state,
        why=why,
        decided_by=by,
        decided_at=at,
        resolved_on=today if state == "resolved" else None,
        updated_at=at,
        version=former.version + 1,
    )


def found_again(former: RootCause, found: RootCause, *, last_failure: date) -> RootCause:
    """The root cause with the figures found now; equal to the former one when nothing changed.

    A dismissed one keeps its figures until a failure joins those that were dismissed, a resolved one until one after
    the remedy does: then it is open again, and keeps the former decision.
    """
    if former.state == "dismissed" and not _failures(found) - _failures(former):
        return _changed(former, replace(former, absent_since=None), found.updated_at)
    failed_again = former.resolved_on is not None and last_failure > former.resolved_on
    changed = replace(
        former,
        tier=found.tier,
        probability_of_chance=found.probability_of_chance,
        document=found.document,
        evidence_key=found.evidence_key,
        after_remedy=found.after_remedy,
        absent_since=None,
        state="open" if former.state == "dismissed" or failed_again else former.state,
    )
    return _changed(former, changed, found.updated_at)


def _failures(root_cause: RootCause) -> set[str]:
    """Day and component of each failure; a corrected condition or evidence makes no new one."""
    return {failure.rsplit("/", 2)[0] for failure in root_cause.evidence_key.split(";")}


def found_no_more(former: RootCause, *, after_remedy: str | None, at: datetime) -> RootCause | None:
    """What is left of a root cause that is not found any more: None of one on which nobody ever decided."""
    if former.decided_at is None:
        return None
    return _changed(former, replace(former, after_remedy=after_remedy, absent_since=former.absent_since or at), at)


def _changed(former: RootCause, now: RootCause, at: datetime) -> RootCause:
    return former if now == former else replace(now, updated_at=at, version=former.version + 1)
