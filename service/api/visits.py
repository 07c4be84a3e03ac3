"""Routes of /v1/visits."""

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

import orjson
from flask import Response, g

from service.api import once, paging, preconditions
from service.api.auth import STAFF
from service.api.endpoint import Answer, Beside, Routes
from service.api.state import actor, database, now, state
from service.api.units import units_shown
from service.domain.assessment.finding import Finding
from service.domain.instants import local_day, to_text
from service.domain.maintenance.due import DueItem
from service.domain.record.visits import Visit, VisitFilter
from service.schemas.assessments import assessment_to_json
from service.schemas.root_causes import shown_root_cause
from service.schemas.shown import shown_corrections, shown_due, shown_visit
from service.schemas.units import Shown
from service.schemas.visits import (
    MoveSchema,
    UnvoidSchema,
    VisitAnswer,
    VisitCorrectionSchema,
    VisitPage,
    VisitQuery,
    VisitSchema,
    VoidSchema,
)
from service.usecases.diagnosis.assessments import assess_visit
from service.usecases.diagnosis.causes import cause_of, cause_of_new, may_have_one
from service.usecases.maintenance.due import due_at
from service.usecases.posted_once import is_stored
from service.usecases.record import attendance_shares, moved_visits, place_unknown, site_clock, visits
from service.usecases.root_causes.root_causes import at_unit
from service.usecases.system import Store

Body = Mapping[str, Any]
Recorded = tuple[Visit, list[DueItem]]
routes = Routes("visits")


@routes.post(
    "/v1/visits",
    allow=STAFF,
    body=VisitSchema,
    query=Shown,
    answers={201: Answer(VisitAnswer, headers=("ETag", "Location"))},
    headers=once.headers("visit"),
    beside=Beside(place_unknown.of_visit, {"id": "", "unit": "", "kind": "maintenance"}),
)
def post_visit(body: Body, query: Body) -> Response:
    """Record a visit. The same id or key with the same body returns the first answer; with another body, 422."""
    return once.post(body, "visit", partial(recorded, system=units_shown(query), cause=cause_before(body)))


@routes.get("/v1/visits", allow=STAFF, query=VisitQuery, answers={200: Answer(VisitPage, headers=("Link",))})
def list_visits(query: Body) -> Response:
    """List visits, newest first: of a unit, a site, a customer, a technician, or between two days."""
    names = ("unit", "site", "customer", "technician")
    days = {name: query[name].isoformat() for name in ("since", "until") if name in query}
    wanted = VisitFilter(**{name: query[name] for name in names if name in query}, **days)
    with database().reading() as store:
        found = store.visits.page(wanted, after=paging.after(query, str, str), limit=query["limit"] + 1)
    system = units_shown(query)
    return paging.page(
        found,
        query,
        key=lambda visit: (to_text(visit.arrived_at), visit.id),
        show=lambda visit: shown_visit(visit, system),
    )


@routes.get("/v1/visits/{id}", allow=STAFF, query=Shown, answers={200: Answer(VisitSchema, headers=("ETag",))})
def get_visit(id: str, query: Body) -> Response:  # noqa: A002 - the path's own name
    """Get one visit in its current state, with its corrections and their former texts."""
    with database().reading() as store:
        visit = store.visits.get(id.lower())
        corrections = store.visits.corrections(visit.id)
    body = shown_visit(visit, units_shown(query))
    body["corrections"] = shown_corrections(visit, corrections)
    return preconditions.tagged(body, visit.version)


@routes.patch(
    "/v1/visits/{id}",
    allow=STAFF,
    body=VisitCorrectionSchema,
    partial=("kind", "arrived_at"),
    query=Shown,
    answers={200: Answer(VisitAnswer, headers=("ETag",))},
)
def correct_visit(id: str, body: Body, query: Body) -> Response:  # noqa: A002 - the path's own name
    """Correct a visit and state why. The former text is kept. A list in the body replaces the former list."""
    text = orjson.dumps(g.document).decode()

    def correct(store: Store, former: Visit) -> Recorded:
        changes, written = site_clock.of_correction(store, former, body, text)
        attendance_shares.check_correction(former, changes)
        return visits.correct_visit(store, actor(), former, changes, body=written)

    return _changed(id, query, correct)


@routes.post(
    "/v1/visits/{id}/void",
    allow=STAFF,
    body=VoidSchema,
    query=Shown,
    if_match=True,
    answers={200: Answer(VisitAnswer, headers=("ETag",))},
)
def void_visit(id: str, body: Body, query: Body) -> Response:  # noqa: A002 - the path's own name
    """Void a visit: it no longer counts, and stays in the record with the reason."""
    return _changed(id, query, lambda store, former: visits.void_visit(store, actor(), former, body["reason"]))


@routes.post(
    "/v1/visits/{id}/unvoid",
    allow=STAFF,
    body=UnvoidSchema,
    query=Shown,
    if_match=True,
    answers={200: Answer(VisitAnswer, headers=("ETag",))},
)
def unvoid_visit(id: str, body: Body, query: Body) -> Response:  # noqa: A002 - the path's own name
    """Take the void of a visit back: it counts again. Void and reason stay in its corrections and in the history."""
    return _changed(id, query, lambda store, former: visits.unvoid_visit(store, actor(), former, body["reason"]))


@routes.post(
    "/v1/visits/{id}/move",
    allow=STAFF,
    body=MoveSchema,
    query=Shown,
    if_match=True,
    answers={200: Answer(VisitAnswer, headers=("ETag",))},
)
def move_visit(id: str, body: Body, query: Body) -> Response:  # noqa: A002 - the path's own name
    """Move a visit to the unit at which it was made. Both histories say so, and what is due at both follows."""
    return _changed(
        id, query, lambda store, former: moved_visits.move_visit(store, actor(), former, body["unit"], body["reason"])
    )


def _changed(visit_id: str, query: Body, change: Callable[[Store, Visit], Recorded]) -> Response:
    """The answer to a change of the visit that the client has seen."""
    with database().writing() as store:
        former = store.visits.get(visit_id.lower())
        preconditions.unchanged(former.version, "visit", visit_id)
        visit, due = change(store, former)
        answer = answer_to(store, visit, due, units_shown(query))
    if may_have_one(visit):
        with database().reading() as store:
            log = store.log_of(visit.unit)
            assessment = assess_visit(log, visit, units_shown(query), cause_of(store, visit, state().computing.weigh))
        answer["assessment"] = assessment_to_json(assessment, units_shown(query))
    return preconditions.tagged(answer, visit.version)


def cause_before(body: Body) -> Finding | None:
    """The likeliest cause of what a new visit found, before the writer is held: it takes longer than the write."""
    if not (body.get("readings") and (body.get("complaint") or body.get("calls"))):
        return None
    with database().reading() as store:
        return cause_of_new(store, body, state().computing.weigh)


def recorded(store: Store, new: Body, fingerprint: str, text: str, *, system: str, cause: Finding | None = None) -> str:
    """The answer to a visit stored now, or to one already stored whose first answer has been deleted."""
    if is_stored(store.visits.fingerprint(new["id"]), fingerprint, "visit", new["id"]):
        visit = store.visits.get(new["id"])
        due, _ = due_at(store, visit.unit, now())
    else:
        visit, due = visits.record_visit(store, actor(), new, fingerprint=fingerprint, body=text)
        store.link.before_commit.append(state().metrics.visits_posted.inc)
    return orjson.dumps(answer_to(store, visit, due, system, cause)).decode()


def answer_to(
    store: Store, visit: Visit, due: list[DueItem], system: str, cause: Finding | None = None
) -> dict[str, Any]:
    """A stored visit with its assessment, and what follows from it for its unit."""
    log = store.log_of(visit.unit)
    today = local_day(now(), log.time_zone)
    return {
        "visit": shown_visit(visit, system),
        "assessment": assessment_to_json(assess_visit(log, visit, system, cause), system),
        "due_items": [shown_due(visit.unit, item, today) for item in due if not item.ended(today)],
        "root_causes": [shown_root_cause(each) for each in at_unit(store, visit.unit)],
    }
