"""Routes of /v1/vans: what is in the technicians' vans, and what a day is likely to need."""

from collections.abc import Mapping
from typing import Any

from flask import Response

from service.api import paging
from service.api.auth import STAFF
from service.api.endpoint import Answer, Routes
from service.api.state import actor, caller, database, now
from service.domain.errors import Fault, Invalid
from service.schemas.paging import PageQuery
from service.schemas.shown import shown
from service.schemas.vans import (
    MovementPage,
    MovementSchema,
    VanListQuery,
    VanListSchema,
    VanSchema,
    shown_load,
    shown_stock,
)
from service.usecases.planning import vans

Body = Mapping[str, Any]
routes = Routes("vans")


@routes.get("/v1/vans", allow=STAFF, query=VanListQuery, answers={200: VanListSchema})
def list_vans(query: Body) -> dict[str, Any]:
    """Get what each van should bring for a day's list: fluids and parts with the chance of running short.

    Parts by how often they were replaced at visits of the fleet, by kind, model and age, as learned once a day from a
    sample of the units; concentrate by the last strength on record.
    """
    with database().reading() as store:
        return shown_load(vans.load(store, now(), query.get("on"), query.get("technician")))


@routes.get("/v1/vans/{technician}", allow=STAFF, answers={200: VanSchema})
def get_van(technician: str) -> dict[str, Any]:
    """Get what there should be in a technician's van: since the last count, less what visits used up."""
    with database().reading() as store:
        return {"technician": technician, "stock": [shown_stock(each) for each in vans.stock(store, technician)]}


@routes.get(
    "/v1/vans/{technician}/movements",
    allow=STAFF,
    query=PageQuery,
    answers={200: Answer(MovementPage, headers=("Link",))},
)
def list_movements(technician: str, query: Body) -> Response:
    """List what was taken, put back and counted in a technician's van, in the order in which it was recorded."""
    (after,) = paging.after(query, int) or (0,)
    with database().reading() as store:
        store.technicians.get(technician)
        found = store.vans.page(technician, after, query["limit"] + 1)
    return paging.page(found, query, key=lambda each: (each[0],), show=lambda each: shown(each[1]))


@routes.post("/v1/vans/{technician}/movements", allow=STAFF, body=MovementSchema, answers={201: MovementSchema})
def add_movement(technician: str, body: Body) -> tuple[dict[str, Any], int]:
    """Record what is taken into a van or put back, or how much there is of an item."""
    check_own_van(technician)
    with database().writing() as store:
        return shown(vans.move(store, actor(), technician, body)), 201


def check_own_van(technician: str) -> None:
    """Refuse a technician's token at another one's van."""
    own = caller().technician
    if own is not None and own != technician:
        raise Invalid([Fault("technician", technician, f"this token is {own}'s: it moves what is in their van alone")])
