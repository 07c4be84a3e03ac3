"""Routes of /v1/units/{tag}/pauses and /v1/sites/{code}/closures."""

from collections.abc import Mapping
from typing import Any

from flask import Response

from service.api import paging, preconditions
from service.api.auth import OFFICE, STAFF
from service.api.endpoint import Answer, Routes
from service.api.state import actor, database
from service.domain.record.pauses import Of, Pause
from service.schemas.paging import PageQuery
from service.schemas.pauses import (
    ClosurePage,
    ClosurePatch,
    ClosureSchema,
    PausePage,
    PausePatch,
    PauseSchema,
    shown_pause,
)
from service.usecases.record import pauses
from service.usecases.system import Store

Body = Mapping[str, Any]
routes = Routes("pauses")
PAUSE = Answer(PauseSchema, headers=("ETag",))
CLOSURE = Answer(ClosureSchema, headers=("ETag",))


@routes.get("/v1/units/{tag}/pauses", allow=STAFF, query=PageQuery, answers={200: Answer(PausePage, headers=("Link",))})
def list_pauses(tag: str, query: Body) -> Response:
    """List the pauses of a unit, those that were withdrawn included."""
    return _page("unit", tag, query)


@routes.post("/v1/units/{tag}/pauses", allow=OFFICE, body=PauseSchema, answers={201: PAUSE})
def add_pause(tag: str, body: Body) -> Response:
    """Take a unit out of service for some days, or from a day on with `until` null; its due dates follow."""
    return _added("unit", tag, body)


@routes.get("/v1/units/{tag}/pauses/{number:int}", allow=STAFF, answers={200: PAUSE})
def get_pause(tag: str, number: int) -> Response:
    """Get one pause of a unit."""
    return _got("unit", tag, number)


@routes.patch("/v1/units/{tag}/pauses/{number:int}", allow=OFFICE, body=PausePatch, partial=True, answers={200: PAUSE})
def change_pause(tag: str, number: int, body: Body) -> Response:
    """Correct, end or withdraw a pause; what was recorded before is kept."""
    return _changed("unit", tag, number, body)


@routes.get(
    "/v1/sites/{code}/closures", allow=STAFF, query=PageQuery, answers={200: Answer(ClosurePage, headers=("Link",))}
)
def list_closures(code: str, query: Body) -> Response:
    """List the closures of a site, those that were withdrawn included."""
    return _page("site", code, query)


@routes.post("/v1/sites/{code}/closures", allow=OFFICE, body=ClosureSchema, answers={201: CLOSURE})
def add_closure(code: str, body: Body) -> Response:
    """Close a site for some days, as for the season; the due dates of its units follow."""
    return _added("site", code, body)


@routes.get("/v1/sites/{code}/closures/{number:int}", allow=STAFF, answers={200: CLOSURE})
def get_closure(code: str, number: int) -> Response:
    """Get one closure of a site."""
    return _got("site", code, number)


@routes.patch(
    "/v1/sites/{code}/closures/{number:int}", allow=OFFICE, body=ClosurePatch, partial=True, answers={200: CLOSURE}
)
def change_closure(code: str, number: int, body: Body) -> Response:
    """Correct or withdraw a closure; what was recorded before is kept."""
    return _changed("site", code, number, body)


def _page(of: Of, key: str, query: Body) -> Response:
    after = (paging.after(query, int) or (0,))[0]
    with database().reading() as store:
        found = [pause for pause in store.pauses.of(of, key) if pause.number > after]
        zone = _zone(store, of, key)
    return paging.page(found, query, key=lambda pause: (pause.number,), show=lambda pause: shown_pause(pause, zone))


def _added(of: Of, key: str, body: Body) -> Response:
    with database().writing() as store:
        pause = pauses.add_pause(store, actor(), of, key, body)
        return _tagged(store, of, key, pause, 201)


def _got(of: Of, key: str, number: int) -> Response:
    with database().reading() as store:
        return _tagged(store, of, key, pauses.pause_of(store, of, key, number))


def _changed(of: Of, key: str, number: int, body: Body) -> Response:
    with database().writing() as store:
        former = pauses.pause_of(store, of, key, number)
        preconditions.unchanged(former.version, pauses.NAMES[of], f"{key}/{number}")
        return _tagged(store, of, key, pauses.change_pause(store, actor(), of, key, former, body))


def _tagged(store: Store, of: Of, key: str, pause: Pause, status: int = 200) -> Response:
    return preconditions.tagged(shown_pause(pause, _zone(store, of, key)), pause.version, status)


def _zone(store: Store, of: Of, key: str) -> str:
    return store.units.place(key).time_zone if of == "unit" else store.sites.get(key).time_zone
