"""Who saw that there was no cold beer, or that there was, and when: the calls, complaints, readings and outcomes."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from service.domain.assessment.bands import BEER_UNDER
from service.domain.physics.ranges import above
from service.domain.record.calls import Call
from service.domain.record.unit_log import ReadingTaken, UnitLog, readings_at
from service.domain.record.visits import NO_COLD_BEER, Visit

WARM, COLD, RECOVERING, UNSAID = "warm", "cold", "recovering", "unsaid"
CALL, COMPLAINT, FOUND, READING, OUTCOME = "call", "complaint", "found", "reading", "outcome"
POUR, BATH = "beer_temperature_at_tap", "bath_temperature"
CANCELLED = "cancelled"
LEFT = {"running": COLD, "down": WARM, "recovering": RECOVERING, None: UNSAID}


@dataclass(frozen=True, slots=True, kw_only=True)
class Witness:
    """What was known at an instant: `state` is warm or cold; recovering, or unsaid where the visit left it open.

    `by` is what says so. `visit` is the visit at which it was seen, None for what the customer reported; `heard_by` is
    the visit that took up the complaint.
    """

    at: datetime
    state: str
    by: str
    visit: str | None = None
    symptom: str | None = None
    heard_by: str | None = None
    timed: bool = True


def witnesses(visits: Iterable[Visit], log: UnitLog, calls: Iterable[Call] | None = None) -> list[Witness]:
    """Everything that bears witness, in order of time; at one instant in the order of a visit.

    Of the calls that no visit answers only those in `calls` do; None: all of the log's.
    """
    visits = tuple(visits)
    found = [
        *_calls(visits, log, log.calls if calls is None else calls),
        *(each for visit in visits for each in _of_visit(visit, log)),
    ]
    until = log.until
    return sorted((each for each in found if until is None or each.at <= until), key=lambda each: each.at)


def _calls(visits: Sequence[Visit], log: UnitLog, calls: Iterable[Call]) -> Iterator[Witness]:
    """The calls about this unit, wherever it stood, that no visit answers; the others are complaints of visits."""
    answered = {call for visit in visits for call in visit.calls}
    for call in calls:
        if (
            call.unit == log.unit.tag
            and call.id not in answered
            and call.state != CANCELLED
            and call.symptom in NO_COLD_BEER
        ):
            yield Witness(at=call.received_at, state=WARM, by=CALL, symptom=call.symptom)
            yield from _advised(call)


def _advised(call: Call) -> Iterator[Witness]:
    if call.visit is None and call.how is not None and call.at is not None:
        yield Witness(at=call.at, state=UNSAID, by=CALL)


def _called_again(visit: Visit, log: UnitLog) -> Iterator[Witness]:
    """The further calls that a visit answers, up to its end: each says that it was warm then."""
    named = [call for call in log.calls if call.id in visit.calls and call.site in (None, visit.site)]
    end = visit.left_at or visit.arrived_at
    for call in [each for each in named if each.symptom in NO_COLD_BEER][1:]:
        if call.received_at <= end:
            yield Witness(at=call.received_at, state=WARM, by=CALL, symptom=call.symptom, heard_by=visit.id)


def _of_visit(visit: Visit, log: UnitLog) -> Iterator[Witness]:
    complaint = log.complaint_of(visit)
    heard = complaint if complaint is not None and complaint.symptom in NO_COLD_BEER else None
    if heard is not None:
        by = CALL if visit.calls else COMPLAINT
        at, timed = heard.reported_at or visit.arrived_at, heard.reported_at is not None
        yield Witness(at=at, state=WARM, by=by, symptom=heard.symptom, heard_by=visit.id, timed=timed)
        yield from _called_again(visit, log)
    readings = readings_at(visit, POUR, BATH)
    found, taken_at = _measured([each for each in readings if each.as_found])
    seen_at = taken_at or visit.arrived_at
    if found == WARM or (heard is not None and found is None):
        yield Witness(at=seen_at, state=WARM, by=READING if found else FOUND, visit=visit.id)
    elif found == COLD and heard is None:
        yield Witness(at=seen_at, state=COLD, by=READING, visit=visit.id)
    yield from _left(visit, [each for each in readings if not each.as_found])


def _left(visit: Visit, readings: Sequence[ReadingTaken]) -> Iterator[Witness]:
    """How the visit left the unit: by its outcome, or by the pour as left where the outcome decides nothing."""
    state = LEFT.get(visit.outcome)
    left, at = _measured(readings)
    end = visit.left_at or visit.arrived_at
    if state not in (WARM, COLD) and left is not None:
        yield Witness(at=at or end, state=left, by=READING, visit=visit.id)
    elif state is not None:
        yield Witness(at=end, state=state, by=OUTCOME, visit=visit.id)


def _measured(readings: Sequence[ReadingTaken]) -> tuple[str | None, datetime | None]:
    """What the pour says, one warm tap being enough; without it, whether the bath is as warm as warm beer.

    Limit: 40 °F (4.4 °C), common practice, no source. A bath below it does not say that the beer is cold.
    """
    pours = [each for each in readings if each.reading.quantity == POUR]
    baths = [each for each in readings if each.reading.quantity == BATH and not pours]
    warm = [each for each in (*pours, *baths) if above(each.reading.value.value, BEER_UNDER)]
    decisive = warm or pours
    return (WARM if warm else COLD, decisive[0].at) if decisive else (None, None)
