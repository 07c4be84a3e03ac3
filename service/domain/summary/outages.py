"""Time without cold beer: from the complaint to the visit that left the unit running, as far as that is known."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime

from service.domain.bench.figures import figure
from service.domain.quantities import Quantity
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import NO_COLD_BEER, Complaint, Visit
from service.domain.summary.lines import Outage, OutageTotal
from service.domain.summary.window import Window

EXACT, BOUNDED, AT_LEAST, STILL_OPEN = "exact", "bounded", "at_least", "still_open"
RUNNING = "running"


def outages(visits: Iterable[Visit], window: Window, log: UnitLog) -> tuple[Outage, ...]:
    """The outages whose complaint was taken up in the window; a complaint during an outage belongs to that outage."""
    return tuple(each for each in _all(visits, log) if window.holds(each.on))


def _all(visits: Iterable[Visit], log: UnitLog) -> Iterator[Outage]:
    chain: list[Visit] = []
    heard: Complaint | None = None
    for visit in visits:
        complaint = None if chain else log.complaint_of(visit)
        if chain or (complaint is not None and complaint.symptom in NO_COLD_BEER):
            heard = complaint or heard
            chain.append(visit)
        if heard and chain and visit.outcome == RUNNING:
            yield _outage(chain, heard, restored=True)
            chain = []
    if heard and chain:
        yield _outage(chain, heard, restored=False)


def _outage(chain: Sequence[Visit], complaint: Complaint, *, restored: bool) -> Outage:
    """The chain runs from the visit with the complaint to the one that left the unit running, or to the last so far."""
    first, last = chain[0], chain[-1]
    started = complaint.reported_at or first.arrived_at
    ended = (last.left_at or last.arrived_at) if restored else None
    last_without = _last_without(chain, restored=restored)
    upper_known = ended is not None and complaint.reported_at is not None and last.left_at is not None
    exact = upper_known and len(chain) == 1
    sure = ended if exact and ended is not None else last_without
    known = EXACT if exact else BOUNDED if upper_known else AT_LEAST if restored else STILL_OPEN
    return Outage(
        unit=first.unit,
        visit=first.id,
        on=first.day,
        symptom=complaint.symptom,
        reported_at=complaint.reported_at,
        started_at=started,
        restored_at=ended,
        restored_on=last.day if restored else None,
        restored_by=last.id if restored else None,
        at_least=figure(max((sure - started).total_seconds(), 0.0), "time"),
        at_most=figure(max((ended - started).total_seconds(), 0.0), "time") if upper_known and ended else None,
        known=known,
        why=" ".join(_why(complaint, last, restored=restored, alone=len(chain) == 1)),
    )


def _last_without(chain: Sequence[Visit], *, restored: bool) -> datetime:
    """The last instant at which there is known to have been no cold beer."""
    if restored and len(chain) == 1:
        return chain[0].arrived_at
    before = chain[-2] if restored else chain[-1]
    return before.left_at or before.arrived_at


def _why(complaint: Complaint, last: Visit, *, restored: bool, alone: bool) -> Iterator[str]:
    if complaint.reported_at is None:
        yield "The time of the report is not recorded: the outage is counted from the arrival and may be longer."
    if not restored:
        yield "No later visit has left the unit running."
    elif last.left_at is None:
        yield "The end of the visit that left the unit running is not recorded."
    elif alone:
        yield "It ended when the visit left the unit running."
    else:
        yield "It ended between the last visit that did not leave the unit running and the one that did."


def total(found: Sequence[Outage]) -> OutageTotal:
    """All of them added up."""
    return _total(len(found), [each.at_least for each in found], [each.at_most for each in found])


def sum_totals(totals: Sequence[OutageTotal]) -> OutageTotal:
    """Such totals added up."""
    count = sum(each.outages for each in totals)
    return _total(count, [each.at_least for each in totals], [each.at_most for each in totals])


def _total(count: int, least: Sequence[Quantity], most: Sequence[Quantity | None]) -> OutageTotal:
    """No upper limit where any of them has none."""
    upper = [each.value for each in most if each is not None]
    return OutageTotal(
        outages=count,
        at_least=figure(sum(each.value for each in least), "time"),
        at_most=figure(sum(upper), "time") if len(upper) == len(most) else None,
    )
