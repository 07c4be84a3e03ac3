"""Visits, replacements, refrigerant and root causes counted."""

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, timedelta

from service.domain.bench.figures import figure
from service.domain.quantities import Quantity
from service.domain.record.failed import FAILED, counted_as
from service.domain.record.part_replaced import PartReplaced
from service.domain.record.visits import BY, EVIDENCE, KINDS, REASONS, Visit
from service.domain.summary.letter_lines import CustomerRootCause
from service.domain.summary.lines import (
    KindCount,
    Outage,
    Refrigerant,
    RefrigerantMove,
    ReplacementCount,
    ReplacementLine,
    RootCauseCount,
    TimeOnSite,
)
from service.domain.summary.outages import TAKEN_AS_ENDED

WHOSE = {"us": "ours", "others": "others"}


def visits_by_kind(visits: Iterable[Visit]) -> tuple[KindCount, ...]:
    """How many visits of each kind, zeros included."""
    count = Counter((visit.kind, visit.by) for visit in visits)
    return tuple(KindCount(kind=kind, ours=count[kind, "us"], others=count[kind, "others"]) for kind in KINDS)


def sum_by_kind(counts: Sequence[Sequence[KindCount]]) -> tuple[KindCount, ...]:
    """Such counts added up."""
    each = [count for part in counts for count in part]
    return tuple(
        KindCount(
            kind=kind,
            ours=sum(count.ours for count in each if count.kind == kind),
            others=sum(count.others for count in each if count.kind == kind),
        )
        for kind in KINDS
    )


def replaced(parts: Sequence[PartReplaced]) -> ReplacementCount:
    """How many replacements: failed or by another reason, by whom, and how we know."""
    reasons, by = Counter(map(counted_as, parts)), Counter(part.by for part in parts)
    evidence = Counter(part.evidence for part in parts)
    return ReplacementCount(
        total=len(parts),
        **{reason: reasons[reason] for reason in REASONS},
        **{WHOSE[who]: by[who] for who in BY},
        **{how: evidence[how] for how in EVIDENCE},
    )


def unwitnessed(parts: Iterable[ReplacementLine], found: Sequence[Outage]) -> int:
    """How many parts others replaced because they had failed, on days on which no outage is on record.

    Nobody recorded whether the beer was warm then, so these are no breakdowns.
    """
    theirs = (part for part in parts if part.by == "others" and counted_as(part) == FAILED)
    return sum(not any(_lasted(each, part.on) for each in found) for part in theirs)


def _lasted(outage: Outage, day: date) -> bool:
    """Whether an outage lasted on a day; where no end is known or taken it may have.

    Where a visit found it, the most that it can be in the year begins before that.
    """
    last = outage.restored_on
    if last is None and outage.ended == TAKEN_AS_ENDED and outage.estimated_high is not None:
        new_year = datetime(outage.on.year, 1, 1, tzinfo=UTC)
        begun = max(outage.earliest_at or new_year, new_year)
        before = outage.started_at - begun if outage.begin_unknown else timedelta(0)
        last = outage.on + max(timedelta(seconds=outage.estimated_high.value) - before, timedelta(days=1))
    return outage.on <= day and (last is None or day <= last)


def sum_replaced(counts: Sequence[ReplacementCount]) -> ReplacementCount:
    """Such counts added up."""
    names = ReplacementCount.__dataclass_fields__
    return ReplacementCount(**{name: sum(getattr(each, name) for each in counts) for name in names})


def seconds_on_site(visit: Visit) -> float | None:
    """From arrival to leaving [s], an equal share of an attendance; None where the end was not recorded."""
    if visit.left_at is None:
        return None
    return (visit.left_at - visit.arrived_at).total_seconds() / (visit.shared_by or 1)


def time_on_site(visits: Sequence[Visit]) -> TimeOnSite:
    """The hours of the visits whose end was recorded."""
    known = [seconds for visit in visits if (seconds := seconds_on_site(visit)) is not None]
    return TimeOnSite(visits=len(visits), timed=len(known), total=figure(sum(known), "time"))


def sum_time(counts: Sequence[TimeOnSite]) -> TimeOnSite:
    """Such times added up."""
    return TimeOnSite(
        visits=sum(each.visits for each in counts),
        timed=sum(each.timed for each in counts),
        total=figure(sum(each.total.value for each in counts), "time"),
    )


def refrigerant(moves: Sequence[RefrigerantMove]) -> Refrigerant:
    """The amounts added up, added and recovered apart."""
    return Refrigerant(added=_mass(moves, "added"), recovered=_mass(moves, "recovered"))


def _mass(moves: Iterable[RefrigerantMove], what: str) -> Quantity | None:
    amounts = [move.mass.value for move in moves if move.what == what]
    return figure(sum(amounts), "mass") if amounts else None


def root_causes(lines: Sequence[CustomerRootCause]) -> RootCauseCount:
    """How many are in each state."""
    states = Counter(line.state for line in lines)
    return RootCauseCount(
        total=len(lines),
        open=states["open"],
        confirmed=states["confirmed"],
        dismissed=states["dismissed"],
        resolved=states["resolved"],
    )
