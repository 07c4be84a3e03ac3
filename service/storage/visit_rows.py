"""Visits as rows and rows as visits."""

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from functools import lru_cache
from operator import itemgetter
from typing import Any

import orjson

from service.domain.instants import from_text, local_day, to_text
from service.domain.quantities import Quantity
from service.domain.record.imprecise_days import days_of, latest_by
from service.domain.record.visits import (
    Complaint,
    Item,
    Observation,
    PartUsed,
    Reading,
    RemovedItem,
    Replacement,
    TaskResult,
    Visit,
    Void,
)
from service.domain.shared_texts import shared
from service.storage.documents import day, day_text, read, read_many, write
from service.storage.places import Place

Row = tuple[Any, ...]
Parts = Mapping[str, Mapping[int, list[Any]]]  # by table and then by visit


def void_text(void: Void | None) -> str | None:
    """A voiding as one JSON text: instant, who, reason."""
    return None if void is None else orjson.dumps((to_text(void.at), void.by, void.reason)).decode()


def read_void(text: str | None) -> Void | None:
    """The inverse of `void_text`."""
    if text is None:
        return None
    at, by, reason = orjson.loads(text)
    return Void(reason=reason, by=by, at=from_text(at))


def visit_values(given: Visit, place: Place) -> dict[str, Any]:
    """The columns of a visit that a correction may change; `place` is where the unit stood at the arrival."""
    complaint = given.complaint
    return {
        "kind": given.kind,
        "by_whom": given.by,
        "evidence": given.evidence,
        "firm": given.firm,
        "arrived_at": to_text(given.arrived_at),
        "left_at": None if given.left_at is None else to_text(given.left_at),
        "customer_id": place.customer_id,
        "site_id": place.site_id,
        "day": local_day(given.arrived_at, place.time_zone).isoformat(),
        "symptom": complaint.symptom if complaint else None,
        "reported_at": to_text(complaint.reported_at) if complaint and complaint.reported_at else None,
        "words": complaint.words if complaint else None,
        "work": given.work,
        "advice": given.advice,
        "internal_note": given.internal_note,
        "crew": orjson.dumps(given.crew).decode() if given.crew else None,
        "parts_used": write(given.parts_used or None),
        "signed_by": given.signed_by,
        "outcome": given.outcome,
        "parts_promised_on": day_text(given.parts_promised_on),
        "void": void_text(given.void),
        "version": given.version,
    }


def written_parts(given: Visit, place: Place, visit_id: int) -> dict[str, list[dict[str, Any]]]:
    """The rows of a visit's parts by table."""
    own = {"visit_id": visit_id, "customer_id": place.customer_id, "unit_id": place.id}
    day_of_visit = local_day(given.arrived_at, place.time_zone)
    of_results = own | {"day": day_of_visit.isoformat(), "void": int(given.void is not None)}
    return {
        "reading": [_reading_values(own, n, part) for n, part in enumerate(given.readings)],
        "task_result": [
            {
                **of_results,
                "position": n,
                "task": part.task,
                "result": part.result,
                "reason": part.reason,
                "as_found": part.as_found,
            }
            for n, part in enumerate(given.tasks)
        ],
        "replacement": [
            own | {"position": n} | _replacement_values(part, day_of_visit) for n, part in enumerate(given.replacements)
        ],
        "observation": [
            own | {"position": n, "code": part.code, "component": part.component, "note": part.note}
            for n, part in enumerate(given.observations)
        ],
        "visit_call": [own | {"position": n, "call": call} for n, call in enumerate(given.calls)],
    }


def _replacement_values(part: Replacement, day_of_visit: date) -> dict[str, Any]:
    earliest, latest = (None, None) if part.on is None else days_of(part.on)
    return {
        "component": part.component,
        "reason": part.reason,
        "condition": part.condition,
        "evidence": part.evidence,
        "day": latest_by(part.on, day_of_visit).isoformat(),
        "reported_on": part.on,
        "earliest": day_text(earliest),
        "latest": day_text(latest),
        "by_whom": part.by,
        "note": part.note,
        "item": write(part.item),
        "removed_item": write(part.removed_item),
    }


def _reading_values(own: Mapping[str, int], position: int, part: Reading) -> dict[str, Any]:
    value, sample = part.value, part.sample_temperature
    return {
        **own,
        "position": position,
        "quantity": part.quantity,
        "component": part.component,
        "tap": part.tap,
        "value": value.value,
        "dimension": value.dimension,
        "entered": value.entered,
        "sample_temperature": None if sample is None else sample.value,
        "sample_temperature_entered": None if sample is None else sample.entered,
        "at": None if part.at is None else to_text(part.at),
        "moment": part.when,
        "evidence": part.evidence,
    }


def read_reading(row: Row) -> Reading:
    """A reading from (quantity, component, tap, value, dimension, entered, sample..., at, moment, evidence)."""
    return _reading(row) if row[8] is None else _reading_of(row)


def _reading_of(row: Row) -> Reading:
    quantity, component, tap, value, dimension, entered, sample, sample_entered, at, moment, evidence = row
    quantity, component, tap, dimension, moment, evidence = _codes(
        quantity, component, tap, dimension, moment, evidence
    )
    return Reading(
        quantity=quantity,
        component=component,
        tap=tap,
        value=_quantity(value, dimension, shared(entered)),
        sample_temperature=None if sample is None else Quantity(sample, "temperature", sample_entered),
        at=None if at is None else from_text(at),
        when=moment,
        evidence=evidence,
    )


# One value for all visits with the same: instruments show few digits, and what is read is not changed.
_reading = lru_cache(maxsize=8192)(_reading_of)
_quantity = lru_cache(maxsize=8192)(Quantity)


@lru_cache(maxsize=4096)
def _codes(*codes: Any) -> tuple[Any, ...]:
    """The codes of a reading, each shared: there are few different sets of them."""
    return tuple(map(shared, codes))


def read_task_result(row: Row) -> TaskResult:
    """A task result from (task, result, reason, as_found, day, void)."""
    return _task_result(*row[:4])


@lru_cache(maxsize=1024)
def _task_result(task: str, result: str, reason: str | None, as_found: str | None) -> TaskResult:
    """One value for all visits with the same result: there are few different ones, and they are not changed."""
    return TaskResult(task=task, result=result, reason=reason, as_found=as_found)


def read_replacement(row: Row) -> Replacement:
    """A replacement from (component, reason, condition, evidence, day, reported_on, by_whom, note, items, ...)."""
    component, reason, condition, evidence, _, reported_on, by_whom, note, item, removed_item = row[:10]
    return Replacement(
        component=shared(component),
        reason=shared(reason),
        condition=shared(condition),
        evidence=shared(evidence),
        on=shared(reported_on),
        by=shared(by_whom),
        note=note,
        item=read(Item, item),
        removed_item=read(RemovedItem, removed_item),
    )


def read_observation(row: Row) -> Observation:
    """An observation from (code, component, note)."""
    code, component, note = row
    return Observation(code=shared(code), component=shared(component), note=note)


READERS: Mapping[str, Callable[[Row], Any]] = {
    "reading": read_reading,
    "task_result": read_task_result,
    "replacement": read_replacement,
    "observation": read_observation,
    "visit_call": itemgetter(0),
}


def read_parts(rows: Mapping[str, Iterable[Row]]) -> Parts:
    """The parts of visits, from the rows of each table, which begin with the visit's identity."""
    return {name: _by_visit(READERS[name], of_table) for name, of_table in rows.items()}


def _by_visit(read: Callable[[Row], Any], rows: Iterable[Row]) -> dict[int, list[Any]]:
    found: dict[int, list[Any]] = {}
    for row in rows:
        found.setdefault(row[0], []).append(read(row[1:]))
    return found


def read_visit(row: Row, parts: Parts) -> Visit:
    """A visit from its row and the parts of some visits."""
    key, uuid, tag, zone, site, customer, kind, by_whom, evidence, firm, technician, arrived_at, left_at = row[:13]
    symptom, reported_at, words, work, advice, internal_note, crew, parts_used, signed_by = row[13:22]
    attendance, shared_by, outcome, promised, posted_at, posted_by, void, version = row[22:]
    reported = None if reported_at is None else from_text(reported_at)
    own = {name: tuple(of_visit.get(key, ())) for name, of_visit in parts.items()}
    return Visit(
        id=uuid,
        unit=shared(tag),
        time_zone=shared(zone),
        site=shared(site),
        customer=shared(customer),
        kind=shared(kind),
        by=shared(by_whom),
        evidence=shared(evidence),
        firm=shared(firm),
        technician=shared(technician),
        crew=() if crew is None else tuple(orjson.loads(crew)),
        arrived_at=from_text(arrived_at),
        left_at=None if left_at is None else from_text(left_at),
        complaint=None if symptom is None else Complaint(symptom=symptom, reported_at=reported, words=words),
        calls=own["visit_call"],
        attendance=attendance,
        shared_by=shared_by,
        readings=own["reading"],
        tasks=own["task_result"],
        replacements=own["replacement"],
        observations=own["observation"],
        work=work,
        advice=advice,
        internal_note=internal_note,
        parts_used=read_many(PartUsed, parts_used),
        signed_by=signed_by,
        outcome=shared(outcome),
        parts_promised_on=day(promised),
        posted_at=from_text(posted_at),
        posted_by=shared(posted_by),
        void=read_void(void),
        version=version,
    )
