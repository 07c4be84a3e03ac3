"""The assessment of a stored visit, and of one that is not stored."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from service.domain.assessment.assess import assess, in_order
from service.domain.assessment.finding import Assessment, Finding
from service.domain.assessment.settle import burnt_at, what_first
from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid, NotFound
from service.domain.record.fleet import Unit
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Visit
from service.domain.triage.worked import after_work
from service.storage.places import Place
from service.storage.store import Store
from service.usecases.computing import Run, here
from service.usecases.diagnosis.causes import cause_in, may_have_one
from service.usecases.record import new_components, site_clock
from service.usecases.record.visits import checked, new_visit

NOT_STORED = "not stored"


def assess_visit(log: UnitLog, visit: Visit, system: str, cause: Finding | None = None) -> Assessment:
    """The assessment of a stored visit by its unit's history as it is now, with the likeliest cause where given."""
    return _with(assess(visit, log.unit, system, log.elevation), visit, log.unit, cause)


def assess_unstored(store: Store, actor: Actor, new: Mapping[str, Any], system: str, weigh: Run = here) -> Assessment:
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
    unit = new_components.with_components(unit, kinds)
    found = assess(visit, unit, system, log.elevation)
    return _with(found, visit, unit, cause_in(store, log, visit, unit, weigh) if may_have_one(visit) else None)


def _with(found: Assessment, visit: Visit, unit: Unit, cause: Finding | None) -> Assessment:
    if cause is None:
        return found
    findings = in_order((*found.findings, after_work(cause, visit, unit)))
    return replace(found, findings=findings, first=what_first(findings, burnt_at(visit)))


def _asked_about(store: Store, tag: str) -> tuple[Place, UnitLog]:
    try:
        return store.units.place(tag), store.log_of(tag)
    except NotFound as unknown:
        raise Invalid([Fault("unit", tag, f"there is no unit {tag!r}")]) from unknown
