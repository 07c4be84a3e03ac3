"""Routes of /v1/units: the fleet, due items, history, and its own task settings."""

from collections.abc import Mapping
from typing import Any

from flask import Response

from service.api import paging, preconditions
from service.api.auth import OFFICE, STAFF
from service.api.endpoint import Answer, Beside, Routes
from service.api.state import actor, caller, database, now
from service.domain.instants import local_day
from service.domain.record.fleet import Unit, UnitFilter
from service.schemas.due import DueQuery, UnitDue
from service.schemas.history import History, HistoryQuery
from service.schemas.shown import shown, shown_due, shown_event
from service.schemas.units import Shown, UnitPage, UnitPatch, UnitQuery, UnitSchema
from service.usecases.maintenance.due import due_at
from service.usecases.record import units
from service.usecases.record.history import unit_timeline

Body = Mapping[str, Any]
routes = Routes("units")


def units_shown(query: Body) -> str:
    """The system of units asked for, else the caller's own."""
    system: str = query.get("units") or caller().units_shown
    return system


@routes.get("/v1/units", allow=STAFF, query=UnitQuery, answers={200: Answer(UnitPage, headers=("Link",))})
def list_units(query: Body) -> Response:
    """List units by tag; filter by customer, site or text."""
    names = ("customer", "site", "tag", "text", "retired")
    with database().reading() as store:
        today_in = {zone: local_day(now(), zone) for zone in store.sites.zones()}
        wanted = UnitFilter(**{name: query[name] for name in names if name in query}, today_in=today_in)
        found = store.units.page(wanted, after=paging.first_part(query), limit=query["limit"] + 1)
    system = units_shown(query)
    return paging.page(found, query, key=lambda unit: (unit.tag,), show=lambda unit: shown(unit, system))


@routes.post(
    "/v1/units",
    allow=OFFICE,
    body=UnitSchema,
    answers={201: Answer(UnitSchema, headers=("ETag",))},
    beside=Beside(units.faults_anywhere, {"tag": "", "site": ""}),
)
def add_unit(body: Body) -> Response:
    """Register a unit at a site; its due items follow from its installation date."""
    with database().writing() as store:
        unit = units.add_unit(store, actor(), body)
    return tagged(unit, {}, 201)


@routes.get("/v1/units/{tag}", allow=STAFF, query=Shown, answers={200: Answer(UnitSchema, headers=("ETag",))})
def get_unit(tag: str, query: Body) -> Response:
    """Get one unit with its components and trunks."""
    with database().reading() as store:
        unit = store.units.get(tag)
    return tagged(unit, query)


@routes.patch(
    "/v1/units/{tag}", allow=OFFICE, body=UnitPatch, partial=True, answers={200: Answer(UnitSchema, headers=("ETag",))}
)
def change_unit(tag: str, body: Body) -> Response:
    """Change fields of a unit, or retire it with `retired_on`, today or ahead; components are merged, never dropped."""
    with database().writing() as store:
        former = store.units.get(tag)
        preconditions.unchanged(former.version, "unit", tag)
        unit = units.change_unit(store, actor(), former, body)
    return tagged(unit, {})


@routes.get("/v1/units/{tag}/due", allow=STAFF, query=DueQuery, answers={200: UnitDue})
def unit_due(tag: str, query: Body) -> dict[str, Any]:
    """List the due items of a unit, soonest first, each with its reason."""
    with database().reading() as store:
        items, today = due_at(store, tag, now())
        tag = store.units.place(tag).tag
    return {"items": [shown_due(tag, item, today, query["horizon_days"]) for item in items]}


@routes.get(
    "/v1/units/{tag}/history", allow=STAFF, query=HistoryQuery, answers={200: Answer(History, headers=("Link",))}
)
def unit_history(tag: str, query: Body) -> Response:
    """Get a unit's timeline, newest first: visits, readings, tasks, replacements, installations, root causes."""
    after = paging.after(query, str, str, str, str, int)
    with database().reading() as store:
        found, zone = unit_timeline(store, tag, after=after, limit=query["limit"] + 1)
    system = units_shown(query)
    return paging.page(
        found, query, key=lambda event: event.position, show=lambda event: shown_event(event, system, zone)
    )


def tagged(unit: Unit, query: Body, status: int = 200) -> Response:
    """The unit in the caller's units, under its ETag."""
    return preconditions.tagged(shown(unit, units_shown(query)), unit.version, status)
