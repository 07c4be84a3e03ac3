"""Routes of /v1/root-causes: why the same kind of part keeps failing, and the decision on it."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from flask import Response

from service.api import paging, preconditions, wire
from service.api.auth import OFFICE, STAFF
from service.api.endpoint import Answer, Routes
from service.api.state import actor, database, now
from service.domain.errors import Fault, Invalid
from service.domain.root_causes import fleet_sentences, measured_sentences
from service.domain.root_causes.life_cycle import RootCauseFilter
from service.schemas.root_causes import (
    DecisionSchema,
    RootCausePage,
    RootCauseQuery,
    RootCauseSchema,
    computed_root_cause,
    shown_root_cause,
)
from service.usecases.root_causes import fleet_causes, root_causes
from service.usecases.system import Store

Body = Mapping[str, Any]
FILTERS = ("tier", "state", "customer", "unit")
routes = Routes("root_causes")


@routes.get(
    "/v1/root-causes", allow=STAFF, query=RootCauseQuery, answers={200: Answer(RootCausePage, headers=("Link",))}
)
def list_root_causes(query: Body) -> Response:
    """List root causes, open ones first, then by tier; with `as_of`, computed from the records up to that day.

    The first page also has faults that were measured and, of the whole fleet, what failures at several units share.
    """
    wanted = RootCauseFilter(**{name: query[name] for name in FILTERS if name in query})
    if "as_of" in query:
        return _as_known(wanted, query)
    behind = paging.after(query, int, float, int)
    with database().reading() as store:
        found = store.root_causes.page(wanted, after=behind, limit=query["limit"] + 1)
        beside = _beside(store, wanted, query)
    return paging.page(found, query, key=root_causes.position, show=shown_root_cause, more=beside)


def _beside(store: Store, wanted: RootCauseFilter, query: Body) -> dict[str, Any]:
    """What stands beside the first page: faults measured, and of the whole fleet what failures have in common."""
    if "cursor" in query or wanted.customer or wanted.state not in (None, "open"):
        return {}
    day, beside = query.get("as_of"), {}
    if wanted.tier is None:
        faults = fleet_causes.measured(store, wanted.unit, day=day, at=now())
        beside["measured"] = [measured_sentences.in_words(each) for each in faults]
    if wanted.unit is None:
        common = fleet_causes.of_fleet(store, wanted.tier, day=day, people=actor().role in OFFICE)
        beside["fleet"] = [fleet_sentences.in_words(each) for each in common]
    return beside


def _as_known(wanted: RootCauseFilter, query: Body) -> Response:
    day: date = query["as_of"]
    if day > now().date() + timedelta(days=1):
        raise Invalid([Fault("as_of", day.isoformat(), f"lies in the future; it is {now().date()}")])
    if wanted.state not in (None, "open"):
        raise Invalid(
            [Fault("state", wanted.state, "root causes computed as of a day are undecided: omit `state` or `as_of`")]
        )
    with database().reading() as store:
        found, behind = root_causes.as_known(
            store, wanted, day, at=now(), after=paging.after(query, int, str) or (0, ""), limit=query["limit"]
        )
        beside = _beside(store, wanted, query)
    following = behind and paging.next_path(behind)
    known = (
        f"Computed from what had been recorded by the end of {day}; not stored. Visits recorded later, as by an import"
    )
    basis = {"as_of": day.isoformat(), "basis": f"{known}, are left out, whatever their day."}
    headers = {"Link": f'<{following}>; rel="next"'} if following else None
    items = [computed_root_cause(each) for each in found]
    return wire.answer({"items": items, "next": following, **basis, **beside}, headers=headers)


@routes.get("/v1/root-causes/{id:int}", allow=STAFF, answers={200: Answer(RootCauseSchema, headers=("ETag",))})
def get_root_cause(id: int) -> Response:  # noqa: A002 - the path's own name
    """Get one root cause with its evidence."""
    with database().reading() as store:
        root_cause = store.root_causes.get(id)
    return preconditions.tagged(shown_root_cause(root_cause), root_cause.version)


@routes.patch(
    "/v1/root-causes/{id:int}",
    allow=OFFICE,
    body=DecisionSchema,
    answers={200: Answer(RootCauseSchema, headers=("ETag",))},
)
def decide_root_cause(id: int, body: Body) -> Response:  # noqa: A002 - the path's own name
    """Confirm, dismiss or resolve a root cause, and state why."""
    with database().writing() as store:
        former = root_causes.to_decide(store, id)
        preconditions.unchanged(former.version, "root cause", str(id))
        root_cause = root_causes.decide(store, actor(), former, state=body["state"], note=body["note"])
    return preconditions.tagged(shown_root_cause(root_cause), root_cause.version)
