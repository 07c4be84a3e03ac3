"""Visits and replacements counted."""

from collections.abc import Iterable, Sequence

from service.domain.summary.summary import KindCount, ReplacementCount, ReplacementLine, VisitLine
from service.domain.visits import KINDS


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
