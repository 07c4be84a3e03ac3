"""The life of a suspected root cause: open, confirmed, dismissed, resolved, with who decided and why."""

from dataclasses import dataclass, replace
from datetime import date, datetime

from service.domain.errors import Conflict, Fault, Invalid

STATES = ("open", "confirmed", "dismissed", "resolved")
DECISIONS = STATES[1:]
VERDICTS = TOO_EARLY, IT_WORKED, IT_GOES_ON = ("too early to tell", "it worked", "it goes on")  # of a remedy
PRESSING_TIERS = ("probable", "confirmed")  # what a technician is told to look into; the tier watch is only listed


@dataclass(frozen=True, slots=True, kw_only=True)
class RootCause:
    """A suspicion at one unit and component kind; `document` is the candidate as JSON text, `why` the note.

    `evidence_key` names the failures that it rests on, with ";" between them.
    `absent_since` tells since when the record shows a decided case no more; `after_remedy` is that test as JSON text.
    """

    unit: str
    kind: str
    tier: str
    luck_probability: float
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
        """Of an open case the decision after which it came back; who, when and why are still those of that decision."""
        if self.state != "open" or self.decided_at is None:
            return None
        return "dismissed" if self.resolved_on is None else "resolved"


@dataclass(frozen=True, slots=True, kw_only=True)
class RootCauseFilter:
    """How to narrow the list."""

    tier: str | None = None
    state: str | None = None
    customer: str | None = None
    unit: str | None = None


@dataclass(frozen=True, slots=True)
class Concern:
    """What a technician shall look into while at a unit: the case's figures in words."""

    case: int
    unit: str
    component_kind: str
    tier: str
    state: str
    cause: str
    next_check: str
    bring: tuple[str, ...]


def decided(former: RootCause, state: str, why: str, *, by: str, at: datetime, today: date) -> RootCause:
    """The case as somebody decided it; `today` is the site's date, on which a remedy counts as made.

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
    """The case with the figures found now; equal to the former one when nothing changed.

    A dismissed case keeps its figures until a failure joins those that were dismissed, a resolved one stays until one
    after the remedy does: then it is open again, and the former decision stays told with it.
    """
    if former.state == "dismissed" and not _failures(found) - _failures(former):
        return _changed(former, replace(former, absent_since=None), found.updated_at)
    failed_again = former.resolved_on is not None and last_failure > former.resolved_on
    changed = replace(
        former,
        tier=found.tier,
        luck_probability=found.luck_probability,
        document=found.document,
        evidence_key=found.evidence_key,
        after_remedy=found.after_remedy,
        absent_since=None,
        state="open" if former.state == "dismissed" or failed_again else former.state,
    )
    return _changed(former, changed, found.updated_at)


def _failures(case: RootCause) -> set[str]:
    """Day and place of each failure; a corrected condition or evidence makes no new one."""
    return {told.rsplit("/", 2)[0] for told in case.evidence_key.split(";")}


def found_no_more(former: RootCause, *, after_remedy: str | None, at: datetime) -> RootCause | None:
    """What is left of a case that the record does not show any more: None of one on which nobody ever decided."""
    if former.decided_at is None:
        return None
    return _changed(former, replace(former, after_remedy=after_remedy, absent_since=former.absent_since or at), at)


def _changed(former: RootCause, case: RootCause, at: datetime) -> RootCause:
    return former if case == former else replace(case, updated_at=at, version=former.version + 1)
