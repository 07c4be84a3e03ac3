"""Routes of /v1/attendances."""

from collections.abc import Mapping
from functools import partial
from typing import Any
from uuid import UUID

import orjson
from flask import Response

from service.api import once, paging, preconditions
from service.api.auth import STAFF
from service.api.endpoint import Answer, Beside, Routes
from service.api.state import actor, database, now, state
from service.api.units import units_shown
from service.api.visits import answer_to, cause_before
from service.domain.assessment.finding import Finding
from service.domain.instants import to_text
from service.domain.record.attendances import AttendanceFilter
from service.schemas.attendances import (
    AttendanceAnswer,
    AttendancePage,
    AttendancePatch,
    AttendancePost,
    AttendanceQuery,
    AttendanceSchema,
    AttendedVisitSchema,
)
from service.schemas.shown import shown_attendance
from service.schemas.units import Shown
from service.schemas.visits import VisitAnswer
from service.usecases.maintenance.due import due_at
from service.usecases.posted_once import fingerprint_of, is_stored
from service.usecases.record import attendances
from service.usecases.system import Store

Body = Mapping[str, Any]
routes = Routes("attendances")


@routes.post(
    "/v1/attendances",
    allow=STAFF,
    body=AttendancePost,
    query=Shown,
    answers={201: Answer(AttendanceAnswer, headers=("ETag", "Location"))},
    headers=once.headers("attendance"),
    beside=Beside(attendances.faults_anywhere, {"id": str(UUID(int=0)), "site": "", "crew": [""]}),
)
def post_attendance(body: Body, query: Body) -> Response:
    """Record one arrival at one site with its visits, all or nothing. The same id or key with the same body is one."""
    arrived = {"arrived_at": body["arrived_at"]}
    causes = {visit["unit"]: cause_before({**visit, **arrived}) for visit in body.get("visits") or ()}
    return once.post(body, "attendance", partial(recorded, system=units_shown(query), causes=causes))


def recorded(
    store: Store, new: Body, fingerprint: str, text: str, *, system: str, causes: Mapping[str, Finding | None]
) -> str:
    """The answer to an attendance stored now, or to one already stored."""
    if is_stored(store.attendances.fingerprint(new["id"]), fingerprint, "attendance", new["id"]):
        attendance = store.attendances.get(new["id"])
        stored = [store.visits.get(visit_id) for visit_id in attendance.visits]
        visits = [(visit, due_at(store, visit.unit, now())[0]) for visit in stored]
    else:
        attendance, visits = attendances.record_attendance(store, actor(), new, fingerprint=fingerprint, body=text)
        store.link.before_commit.append(partial(state().metrics.visits_posted.inc, len(visits)))
    by_tag = {store.units.present_tag(tag): cause for tag, cause in causes.items() if cause is not None}
    answers = [answer_to(store, visit, due, system, by_tag.get(visit.unit)) for visit, due in visits]
    return orjson.dumps({"attendance": shown_attendance(attendance), "visits": answers}).decode()


@routes.get(
    "/v1/attendances",
    allow=STAFF,
    query=AttendanceQuery,
    answers={200: Answer(AttendancePage, headers=("Link",))},
)
def list_attendances(query: Body) -> Response:
    """List attendances, newest first: of a site, with an outcome of access, or since an instant."""
    named = {name: query[name] for name in ("site", "access") if name in query}
    wanted = AttendanceFilter(**named, since=to_text(query["since"]) if "since" in query else None)
    with database().reading() as store:
        found = store.attendances.page(wanted, after=paging.after(query, str, str), limit=query["limit"] + 1)
    return paging.page(found, query, key=lambda each: (to_text(each.arrived_at), each.id), show=shown_attendance)


@routes.post(
    "/v1/attendances/{id}/visits",
    allow=STAFF,
    body=AttendedVisitSchema,
    query=Shown,
    answers={201: Answer(VisitAnswer, headers=("ETag", "Location"))},
    headers=once.headers("visit"),
)
def add_visit(id: str, body: Body, query: Body) -> Response:  # noqa: A002 - the path's own name
    """Record a visit that an attendance was recorded without, to one more unit of the site."""
    with database().reading() as store:
        arrived = {"arrived_at": store.attendances.get(id.lower()).arrived_at}
    cause = cause_before({**body, **arrived})
    return once.post(body, "visit", partial(_added, id.lower(), system=units_shown(query), cause=cause))


def _added(  # bound first: the attendance
    attendance_id: str,
    store: Store,
    new: Body,
    _fingerprint: str,
    text: str,
    *,
    system: str,
    cause: Finding | None,
) -> str:
    former, given = store.attendances.get(attendance_id, to_write=True), orjson.loads(text)
    whole = fingerprint_of(attendances.visit_document(former, new["id"], given))
    if is_stored(store.visits.fingerprint(new["id"]), whole, "visit", new["id"]):
        visit = store.visits.get(new["id"])
        due, _ = due_at(store, visit.unit, now())
    else:
        visit, due = attendances.add_visit(store, actor(), former, new, given)
        store.link.before_commit.append(state().metrics.visits_posted.inc)
    return orjson.dumps(answer_to(store, visit, due, system, cause)).decode()


@routes.get("/v1/attendances/{id}", allow=STAFF, answers={200: Answer(AttendanceSchema, headers=("ETag",))})
def get_attendance(id: str) -> Response:  # noqa: A002 - the path's own name
    """Get one attendance in its current state."""
    with database().reading() as store:
        attendance = store.attendances.get(id.lower())
    return preconditions.tagged(shown_attendance(attendance), attendance.version)


@routes.patch(
    "/v1/attendances/{id}",
    allow=STAFF,
    body=AttendancePatch,
    partial=("site", "crew", "arrived_at"),
    answers={200: Answer(AttendanceSchema, headers=("ETag",))},
)
def change_attendance(id: str, body: Body) -> Response:  # noqa: A002 - the path's own name
    """Correct crew, times, access or note and state why; its visits that count are corrected with it."""
    with database().writing() as store:
        former = store.attendances.get(id.lower(), to_write=True)
        preconditions.unchanged(former.version, "attendance", id)
        attendance = attendances.change_attendance(store, actor(), former, body)
    return preconditions.tagged(shown_attendance(attendance), attendance.version)
