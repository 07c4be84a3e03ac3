"""Triage of a unit, recorded or described; nothing is stored."""

from collections.abc import Iterator, Mapping
from typing import Any

from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid, NotFound
from service.domain.plain import from_plain
from service.domain.record.checks import InService, faults_of
from service.domain.record.fleet import Unit
from service.domain.record.local_times import by_clock
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Visit
from service.domain.triage.diagnose import diagnose
from service.domain.triage.facts import beyond
from service.domain.triage.history import shifts
from service.domain.triage.question import Question, Seen, Triage
from service.storage.store import Store
from service.usecases.computing import Run, here
from service.usecases.record import new_components

FRAME = {"id": "not stored", "kind": "service_call", "unit": "described", "time_zone": "UTC"}


def triage(store: Store, actor: Actor, asked: Mapping[str, Any], system: str, weigh: Run = here) -> Triage:
    """The answer to a question. Raises Invalid with every fault."""
    if unclear := list(_unclear(asked)):
        raise Invalid(unclear)
    log = _log(store, asked["unit"]) if "unit" in asked else None
    unit = log.unit if log else _described(actor, asked.get("installation"))
    visit, unit = _checked(actor, by_clock(asked, log.site.time_zone if log else None), unit)
    given = asked.get("elevation")
    elevation = given.value if given is not None else (log.elevation if log else None)
    return weigh(
        diagnose,
        Question(
            unit=unit,
            symptom=asked.get("symptom"),
            readings=visit.readings,
            seen=tuple(Seen(code=each["code"], present=each["present"]) for each in asked.get("observations") or ()),
            elevation=elevation,
            shifts=shifts(log, actor.at) if log else {},
        ),
        system,
    )


def _unclear(asked: Mapping[str, Any]) -> Iterator[Fault]:
    """What says two things at once: the unit asked about, or whether something was there."""
    if "unit" in asked and "installation" in asked:
        yield Fault(
            "unit", asked["unit"], "is recorded, and installation describes one that is not; send one of the two"
        )
    first: dict[tuple[str, str | None], bool] = {}
    for number, each in enumerate(asked.get("observations") or ()):
        if first.setdefault((each["code"], each.get("component")), each["present"]) != each["present"]:
            yield Fault(f"observations.{number}.present", each["present"], f"{each['code']} is answered both ways")


def _log(store: Store, tag: str) -> UnitLog:
    try:
        return store.log_of(tag)
    except NotFound as unknown:
        raise Invalid([Fault("unit", tag, f"there is no unit {tag!r}")]) from unknown


def _described(actor: Actor, facts: Mapping[str, Any] | None) -> Unit:
    if facts is None:
        raise Invalid([Fault("unit", None, "is required, or an installation that describes it")])
    return from_plain(Unit, {"tag": "described", "site": "described", "registered_on": actor.at.date(), **facts})


def _beyond(unit: Unit) -> Iterator[Fault]:
    """What a recorded unit has where the model has no meaning; of a described one the schema refuses it."""
    for path, error in beyond(unit):
        yield Fault("unit", unit.tag, f"its {path} has no use for triage: {error}")


def _checked(actor: Actor, asked: Mapping[str, Any], unit: Unit) -> tuple[Visit, Unit]:
    """The readings, checked as those of a visit that begins now, and the unit with the components that they add."""
    plain, named = new_components.split({"readings": asked.get("readings") or []})
    kinds = new_components.joined(unit.kinds, named)
    visit = from_plain(
        Visit,
        {**FRAME, "unit": unit.tag, "arrived_at": actor.at, "posted_at": actor.at, "posted_by": actor.name, **plain},
    )
    faults = [*_beyond(unit), *faults_of(visit, kinds=kinds, now=actor.at, in_service=InService(), time_zone="UTC")]
    if faults:
        raise Invalid(faults)
    return visit, new_components.with_components(unit, kinds)
