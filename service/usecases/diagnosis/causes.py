"""The likeliest cause of what a visit found, calculated outside of the write: it takes longer than the write itself."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from service.domain.assessment.finding import Finding
from service.domain.errors import Invalid, NotFound
from service.domain.plain import from_plain
from service.domain.record.fleet import Unit
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import NO_COLD_BEER, Visit
from service.domain.triage.cause import likely_cause
from service.domain.triage.history import shifts
from service.domain.triage.question import Question, Seen
from service.domain.triage.worked import found_dirty
from service.storage.store import Store
from service.usecases.computing import Run, here
from service.usecases.record import new_components, site_clock

FRAME = {"id": "not stored", "posted_by": "", "time_zone": "UTC"}
# A visit records frost on the capillary itself, which is cold then; triage asks for light frost past its end.
AS_ASKED = {"frost_on_capillary": "drier_cold"}
BEARING = ("unit", "kind", "arrived_at", "complaint", "calls", "observations", "tasks")


def cause_of_new(store: Store, given: Mapping[str, Any], weigh: Run = here) -> Finding | None:
    """The cause for a visit that is about to be stored.

    None for what storing it will refuse: every fault is named there.
    """
    try:
        log = store.log_of(given["unit"])
        given = site_clock.of_unstored(store, store.units.place(given["unit"]), given)
        plain, named = new_components.split({"readings": given["readings"]})
        kinds = new_components.joined(log.unit.kinds, named)
    except (NotFound, Invalid):
        return None
    borne = {name: given[name] for name in BEARING if given.get(name) is not None}
    visit = from_plain(Visit, {**FRAME, "posted_at": given["arrived_at"], **borne, **plain})
    return cause_in(store, log, visit, new_components.with_components(log.unit, kinds), weigh)


def cause_of(store: Store, visit: Visit, weigh: Run = here) -> Finding | None:
    """The cause for a stored visit."""
    if visit.void is not None or not may_have_one(visit):
        return None
    log = store.log_of(visit.unit)
    return cause_in(store, log, visit, log.unit, weigh)


def may_have_one(visit: Visit) -> bool:
    """Whether a visit has a complaint, its own or that of a call, and readings."""
    return bool(visit.readings and (visit.complaint or visit.calls))


def cause_in(store: Store, log: UnitLog, visit: Visit, unit: Unit, weigh: Run = here) -> Finding | None:
    """The cause by readings and parts as found, the observations, and the unit's history until the arrival."""
    return weigh(
        likely_cause,
        Question(
            unit=unit,
            symptom=_symptom(store, visit),
            readings=tuple(reading for reading in visit.readings if reading.when == "as_found"),
            seen=(*(Seen(code=AS_ASKED.get(each.code, each.code)) for each in visit.observations), *found_dirty(visit)),
            elevation=log.elevation,
            shifts=shifts(_before(log, visit), visit.arrived_at),
        ),
    )


def _before(log: UnitLog, visit: Visit) -> UnitLog:
    """The history before a visit, without what the visit itself found and did."""
    earlier = (each for each in log.all_visits if each.id != visit.id and each.arrived_at < visit.arrived_at)
    return replace(log, all_visits=tuple(earlier))


def _symptom(store: Store, visit: Visit) -> str | None:
    """What was complained about: of the calls that the visit answers the first about no cold beer, else its own.

    Not by the history, which names the calls of a visit once it is stored: before, it is to be weighed alike.
    """
    symptoms = [_of_call(store, call_id) for call_id in visit.calls]
    symptoms.append(visit.complaint.symptom if visit.complaint else None)
    return next((each for each in symptoms if each in NO_COLD_BEER), symptoms[0])


def _of_call(store: Store, call_id: str) -> str | None:
    """The symptom of a call; None of one that does not exist, which storing the visit refuses."""
    try:
        return store.calls.get(call_id).symptom
    except NotFound:
        return None
