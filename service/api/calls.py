"""Routes of /v1/calls."""

from collections.abc import Mapping
from typing import Any

import orjson
from flask import Response

from service.api import once, paging, preconditions
from service.api.auth import STAFF
from service.api.endpoint import Answer, Routes
from service.api.state import actor, database
from service.domain.instants import to_text
from service.domain.record.calls import CallFilter
from service.schemas.calls import CallPage, CallPost, CallQuery, CallSchema
from service.schemas.shown import shown_call
from service.usecases.posted_once import is_stored
from service.usecases.record import calls
from service.usecases.system import Store

Body = Mapping[str, Any]
routes = Routes("calls")


@routes.post(
    "/v1/calls",
    allow=STAFF,
    body=CallPost,
    answers={201: Answer(CallSchema, headers=("ETag", "Location"))},
    headers=once.headers("call"),
)
def post_call(body: Body) -> Response:
    """Record a call. The same id or key with the same body returns the first answer; with another body, 422."""
    return once.post(body, "call", recorded)


def recorded(store: Store, new: Body, fingerprint: str, _: str) -> str:
    """The answer to a call stored now, or to one already stored."""
    if is_stored(store.calls.fingerprint(new["id"]), fingerprint, "call", new["id"]):
        call = store.calls.get(new["id"])
    else:
        call = calls.record_call(store, actor(), new, fingerprint=fingerprint)
    return orjson.dumps(shown_call(call)).decode()


@routes.get("/v1/calls", allow=STAFF, query=CallQuery, answers={200: Answer(CallPage, headers=("Link",))})
def list_calls(query: Body) -> Response:
    """List calls, newest first: of a state, a site, a unit, or received since an instant."""
    named = {name: query[name] for name in ("state", "site", "unit") if name in query}
    wanted = CallFilter(**named, since=to_text(query["since"]) if "since" in query else None)
    with database().reading() as store:
        found = store.calls.page(wanted, after=paging.after(query, str, str), limit=query["limit"] + 1)
    return paging.page(found, query, key=lambda call: (to_text(call.received_at), call.id), show=shown_call)


@routes.get("/v1/calls/{id}", allow=STAFF, answers={200: Answer(CallSchema, headers=("ETag",))})
def get_call(id: str) -> Response:  # noqa: A002 - the path's own name
    """Get one call in its current state."""
    with database().reading() as store:
        call = store.calls.get(id.lower())
    return preconditions.tagged(shown_call(call), call.version)


@routes.patch(
    "/v1/calls/{id}",
    allow=STAFF,
    body=CallSchema,
    partial=True,
    answers={200: Answer(CallSchema, headers=("ETag",))},
)
def change_call(id: str, body: Body) -> Response:  # noqa: A002 - the path's own name
    """Change a call: name its unit, assign it to a technician, close it by phone advice, cancel or reopen it."""
    with database().writing() as store:
        former = store.calls.get(id.lower(), to_write=True)
        preconditions.unchanged(former.version, "call", id)
        call = calls.change_call(store, actor(), former, body)
    return preconditions.tagged(shown_call(call), call.version)
