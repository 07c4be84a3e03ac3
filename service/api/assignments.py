"""Routes of /v1/assignments."""

from collections.abc import Mapping
from typing import Any

from flask import Response

from service.api import paging, preconditions
from service.api.auth import OFFICE, STAFF
from service.api.endpoint import Answer, Routes
from service.api.state import actor, database
from service.schemas.assignments import AssignmentPage, AssignmentQuery, AssignmentSchema
from service.schemas.shown import shown
from service.usecases.planning import assignments

Body = Mapping[str, Any]
routes = Routes("assignments")


@routes.get(
    "/v1/assignments", allow=STAFF, query=AssignmentQuery, answers={200: Answer(AssignmentPage, headers=("Link",))}
)
def list_assignments(query: Body) -> Response:
    """List assignments as they were made, of a site, of a technician or all."""
    after = paging.after(query, int)
    with database().reading() as store:
        found = store.assignments.page(
            query.get("site"), query.get("technician"), after[0] if after else 0, query["limit"] + 1
        )
    return paging.page(found, query, key=lambda each: (each.id,), show=shown)


@routes.post(
    "/v1/assignments", allow=OFFICE, body=AssignmentSchema, answers={201: Answer(AssignmentSchema, headers=("ETag",))}
)
def assign(body: Body) -> Response:
    """Give the work at a site, a unit or of one task to a technician on a day, or postpone it."""
    with database().writing() as store:
        made = assignments.assign(store, actor(), body)
    return preconditions.tagged(shown(made), made.version, 201)


@routes.get("/v1/assignments/{id:int}", allow=STAFF, answers={200: Answer(AssignmentSchema, headers=("ETag",))})
def get_assignment(id: int) -> Response:  # noqa: A002 - the path's own name
    """Get one assignment."""
    with database().reading() as store:
        found = store.assignments.get(id)
    return preconditions.tagged(shown(found), found.version)


@routes.patch(
    "/v1/assignments/{id:int}",
    allow=OFFICE,
    body=AssignmentSchema,
    partial=True,
    answers={200: Answer(AssignmentSchema, headers=("ETag",))},
)
def change_assignment(id: int, body: Body) -> Response:  # noqa: A002 - the path's own name
    """Change who does the work and when; null for what no longer holds."""
    with database().writing() as store:
        former = store.assignments.get(id)
        preconditions.unchanged(former.version, "assignment", str(id))
        changed = assignments.change(store, actor(), former, body)
    return preconditions.tagged(shown(changed), changed.version)


@routes.delete("/v1/assignments/{id:int}", allow=OFFICE, answers={204: None})
def remove_assignment(id: int) -> tuple[None, int]:  # noqa: A002 - the path's own name
    """Delete an assignment: the work stands on the list as before."""
    with database().writing() as store:
        assignments.remove(store, actor(), store.assignments.get(id))
    return None, 204
