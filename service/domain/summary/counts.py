"""Visits and replacements counted."""

from collections.abc import Iterable, Sequence

from service.domain.bench.figures import figure
from service.domain.quantities import Quantity
from service.domain.record.visits import KINDS
from service.domain.summary.summary import (
    KindCount,
    ReadingLine,
    Refrigerant,
    RefrigerantMove,
    ReplacementCount,
    ReplacementLine,
    RootCauseCount,
    RootCauseLine,
    TimeOnSite,
    VisitLine,
)

REFRIGERANT = {"refrigerant_added": "added", "refrigerant_recovered": "recovered"}


def visits_by_kind(visits: Sequence[VisitLine]) -> tuple[KindCount, ...]:
    """How many visits of each kind, every kind told."""
    told = [(visit.kind, visit.by) for visit in visits]
    return tuple(
        KindCount(kind=kind, ours=told.count((kind, "us")), others=told.count((kind, "others"))) for kind in KINDS
    )


def replaced(lines: Iterable[ReplacementLine]) -> ReplacementCount:
    """How many replacements: by reason, by whom, and how we know."""
    told = [word for line in lines for word in (line.reason, f"by {line.by}", line.evidence)]
    return ReplacementCount(
        total=len(told) // 3,
        failed=told.count("failed"),
        precaution=told.count("precaution"),
        upgrade=told.count("upgrade"),
        unknown=told.count("unknown"),
        ours=told.count("by us"),
        others=told.count("by others"),
        seen=told.count("seen"),
        reported=told.count("reported"),
    )


def time_on_site(visits: Sequence[VisitLine]) -> TimeOnSite:
    """The hours of the visits whose end was noted."""
    told = [visit.time_on_site.value for visit in visits if visit.time_on_site is not None]
    return TimeOnSite(visits=len(visits), timed=len(told), total=figure(sum(told), "time"))


def refrigerant_moves(lines: Iterable[ReadingLine]) -> tuple[RefrigerantMove, ...]:
    """Each amount of refrigerant recorded, in the order told."""
    return tuple(
        RefrigerantMove(unit=line.unit, visit=line.visit, on=line.on, what=REFRIGERANT[line.quantity], mass=line.value)
        for line in lines
        if line.quantity in REFRIGERANT
    )


def refrigerant(moves: Iterable[RefrigerantMove]) -> Refrigerant:
    """The amounts added up, each its own way."""
    told = tuple(moves)
    return Refrigerant(**{what: _mass([move for move in told if move.what == what]) for what in REFRIGERANT.values()})


def _mass(moves: Sequence[RefrigerantMove]) -> Quantity | None:
    return figure(sum(move.mass.value for move in moves), "mass") if moves else None


def root_causes(lines: Iterable[RootCauseLine]) -> RootCauseCount:
    """How many are in each state."""
    states = [line.state for line in lines]
    return RootCauseCount(
        total=len(states),
        open=states.count("open"),
        confirmed=states.count("confirmed"),
        dismissed=states.count("dismissed"),
        resolved=states.count("resolved"),
    )
