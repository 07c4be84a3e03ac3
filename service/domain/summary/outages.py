"""Time without cold beer: from the complaint to the visit that left the unit running, as far as that is known."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from service.domain.bench.figures import figure
from service.domain.summary.records import UnitRecord, Window
from service.domain.summary.summary import Outage, OutageTotal, VisitLine

NO_COLD_BEER = ("warm_pour", "foaming", "no_flow", "unit_dead", "frozen")
EXACT, BOUNDED, AT_LEAST, STILL_OPEN = "exact", "bounded", "at_least", "still_open"
RUNNING = "running"


def outages(record: UnitRecord, window: Window) -> tuple[Outage, ...]:
    """The outages whose complaint was told in the window; a complaint during an outage belongs to that outage."""
    return tuple(each for each, on in _all(record.visits) if window.holds(on.on))


def _all(visits: Sequence[VisitLine]) -> Iterator[tuple[Outage, VisitLine]]:
    chain: list[VisitLine] = []
    for visit in visits:
        if chain or visit.symptom in NO_COLD_BEER:
            chain.append(visit)
        if chain and visit.outcome == RUNNING:
            yield _outage(chain, restored=True), chain[0]
            chain = []
    if chain:
        yield _outage(chain, restored=False), chain[0]


def _outage(chain: Sequence[VisitLine], *, restored: bool) -> Outage:
    """The chain runs from the visit with the complaint to the one that left the unit running, or to the last so far."""
    first, last = chain[0], chain[-1]
    started = first.reported_at or first.arrived_at
    ended = (last.left_at or last.arrived_at) if restored else None
    ailing = _last_ailing(chain, restored=restored)
    upper_known = ended is not None and first.reported_at is not None and last.left_at is not None
    exact = upper_known and len(chain) == 1
    sure = ended if exact and ended is not None else ailing
    known = EXACT if exact else BOUNDED if upper_known else AT_LEAST if restored else STILL_OPEN
    return Outage(
        unit=first.unit,
        visit=first.id,
        on=first.on,
        symptom=str(first.symptom),
        reported_at=first.reported_at,
        started_at=started,
        restored_at=ended,
        restored_on=last.on if restored else None,
        restored_by=last.id if restored else None,
        at_least=figure(max((sure - started).total_seconds(), 0.0), "time"),
        at_most=figure(max((ended - started).total_seconds(), 0.0), "time") if upper_known and ended else None,
        known=known,
        why=" ".join(_why(first, last, restored=restored, alone=len(chain) == 1)),
    )


def _last_ailing(chain: Sequence[VisitLine], *, restored: bool) -> datetime:
    """The last instant at which the beer is known to have been missing."""
    if restored and len(chain) == 1:
        return chain[0].arrived_at
    before = chain[-2] if restored else chain[-1]
    return before.left_at or before.arrived_at


def _why(first: VisitLine, last: VisitLine, *, restored: bool, alone: bool) -> Iterator[str]:
    if first.reported_at is None:
        yield "When it was reported was not noted, so the time runs from the arrival and may have begun earlier."
    if not restored:
        yield "No visit on record has left the unit running since."
    elif last.left_at is None:
        yield "When the unit was left running was not noted."
    elif alone:
        yield "It ends when the visit left the unit running."
    else:
        yield "It ended some time between the last visit that left the unit ailing and the one that left it running."


def total(found: Iterable[Outage]) -> OutageTotal:
    """All of them added up."""
    each = tuple(found)
    upper = [outage.at_most.value for outage in each if outage.at_most is not None]
    return OutageTotal(
        outages=len(each),
        at_least=figure(sum(outage.at_least.value for outage in each), "time"),
        at_most=figure(sum(upper), "time") if len(upper) == len(each) else None,
    )
