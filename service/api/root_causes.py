"""Routes of /v1/root-causes: what may lie behind repeated failures, and what was decided on it."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from flask import Response

from service.api import paging, preconditions, wire
from service.api.auth import EVERYONE, OFFICE
from service.api.endpoint import Answer, Routes
from service.api.state import actor, database, now
from service.domain.errors import Fault, Invalid
from service.domain.root_causes.life_cycle import RootCauseFilter
from service.schemas.root_causes import (
    DecisionSchema,
    RootCausePage,
    RootCauseQuery,
    RootCauseSchema,
    computed_root_cause,
    shown_root_cause,
)
from service.usecases import root_causes

Body = Mapping[str, Any]
FILTERS = ("tier", "state", "customer", "unit")
routes = Routes("root_causes")


@routes.get(
    "/v1/root-causes", allow=EVERYONE, query=RootCauseQuery, answers={200: Answer(RootCausePage, headers=("Link",))}
)
def list_root_causes(query: Body) -> Response:
    """List suspected root causes: open ones first, of these the graver ones; or, `as_of` a day, as its record told."""
    wanted = RootCauseFilter(**{name: query[name] for name in FILTERS if name in query})
    if "as_of" in query:
        return _as_known(wanted, query)
    behind = paging.after(query, int, float, int)
    with database().reading() as store:
        found = root_causes.cases(store, wanted, after=behind, limit=query["limit"] + 1)
    return paging.page(found, query, key=root_causes.position, show=shown_root_cause)


def _as_known(wanted: RootCauseFilter, query: Body) -> Response:
    day: date = query["as_of"]
    if day > now().date() + timedelta(days=1):
        raise Invalid([Fault("as_of", day.isoformat(), f"lies in the future; it is {now().date()}")])
    if wanted.state not in (None, "open"):
        raise Invalid(
            [Fault("state", wanted.state, "what is computed as of a day is undecided; leave out one of both")]
        )
    with database().reading() as store:
        found, behind = root_causes.as_known(
            store, wanted, day, at=now(), after=paging.after(query, int, str) or (0, ""), limit=query["limit"]
        )
    following = behind and paging.next_path(behind)
    told = {"as_of": day.isoformat(), "told": f"computed from what the record tells up to {day}; not stored"}
    headers = {"Link": f'<{following}>; rel="next"'} if following else None
    items = [computed_root_cause(case) for case in found]
    return wire.answer({"items": items, "next": following, **told}, headers=headers)


@routes.get("/v1/root-causes/{id:int}", allow=EVERYONE, answers={200: Answer(RootCauseSchema, headers=("ETag",))})
def get_root_cause(id: int) -> Response:  # noqa: A002 - the path's own name
    """Tell one suspected root cause with its evidence."""
    with database().reading() as store:
        case = store.root_causes.get(id)
    return preconditions.tagged(shown_root_cause(case), case.version)


@routes.patch(
    "/v1/root-causes/{id:int}",
    allow=OFFICE,
    body=DecisionSchema,
    answers={200: Answer(RootCauseSchema, headers=("ETag",))},
)
def decide_root_cause(id: int, body: Body) -> Response:  # noqa: A002 - the path's own name
    """Confirm, dismiss or resolve a suspected root cause, and say why."""
    with database().writing() as store:
        former = root_causes.to_decide(store, id)
        preconditions.unchanged(former.version, "root cause", str(id))
        case = root_causes.decide(store, actor(), former, state=body["state"], note=body["note"])
    return preconditions.tagged(shown_root_cause(case), case.version)
