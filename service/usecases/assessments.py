"""The assessment of a stored visit, and of one that is not stored."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from service.domain.assessment.assess import assess, in_order
from service.domain.assessment.finding import Assessment
from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid, NotFound
from service.domain.physics.refrigeration.superheat import atmosphere_at
from service.domain.record.fleet import Component, Unit
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Visit
from service.domain.triage.cause import likely_cause
from service.domain.triage.history import shifts
from service.domain.triage.question import Question
from service.storage.places import Place
from service.storage.store import Store
from service.usecases import new_components, site_clock
from service.usecases.visits import checked, new_visit

NOT_STORED = "not stored"


def assess_visit(store: Store, visit: Visit, system: str) -> Assessment:
    """The assessment of a stored visit, with its unit as recorded now."""
    log = store.log_of(visit.unit)
    return assess(visit, log.unit, system, log.elevation)


def assess_unstored(store: Store, actor: Actor, new: Mapping[str, Any], system: str) -> Assessment:
    """The assessment of a visit that is checked as a posted one is and not stored.

    Raises Invalid with every fault.
    """
    place, log = _asked_about(store, new["unit"])
    unit = log.unit
    new = site_clock.of_unstored(store, place, new)
    new, named = new_components.split({"id": NOT_STORED, **new})
    visit = new_visit(actor, new, place)
    kinds = new_components.joined(unit.kinds, named)
    checked(store, actor, visit, place, kinds)
    added = tuple(Component(code=code, kind=kind) for code, kind in kinds.items() if code not in unit.kinds)
    unit = replace(unit, components=(*unit.components, *added))
    return _with_cause(assess(visit, unit, system, log.elevation), visit, unit, log)


def _with_cause(found: Assessment, visit: Visit, unit: Unit, log: UnitLog) -> Assessment:
    """The assessment with the likeliest cause of the complaint, by the readings as they were found.

    Only here and not where a visit is posted: it takes some ten times as long as all other findings together.
    """
    question = Question(
        unit=unit,
        symptom=visit.complaint.symptom if visit.complaint else None,
        readings=tuple(reading for reading in visit.readings if reading.when == "as_found"),
        atmosphere=None if log.elevation is None else atmosphere_at(log.elevation),
        shifts=shifts(log, visit.arrived_at),
    )
    cause = likely_cause(question)
    return found if cause is None else replace(found, findings=in_order((*found.findings, cause)))


def _asked_about(store: Store, tag: str) -> tuple[Place, UnitLog]:
    try:
        return store.units.place(tag), store.log_of(tag)
    except NotFound as unknown:
        raise Invalid([Fault("unit", tag, f"there is no unit {tag!r}")]) from unknown
