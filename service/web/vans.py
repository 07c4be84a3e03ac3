"""Vans: what is in each, what a day is likely to need of it, and a form for what is taken, put back and counted."""

from dataclasses import replace
from datetime import date
from uuid import uuid4

from flask import Response, request

from service.api.auth import OFFICE, STAFF
from service.api.state import actor, caller, database, now
from service.api.vans import check_own_van
from service.domain.instants import local_day
from service.domain.quantities import Quantity, format_quantity
from service.domain.record.fleet import COMPONENT_KINDS, Technician
from service.domain.vans.needs import CLEANER, CONCENTRATE
from service.domain.vans.stock import COUNTED
from service.schemas.reading import read
from service.schemas.vans import MovementSchema, VanListQuery
from service.usecases.planning import vans
from service.usecases.record.company import zone_of
from service.usecases.system import Store
from service.web.page import Pages, see_other
from service.web.plain_form import Document, Field, PlainForm
from service.web.render import show, words

ACTIONS = {"take": "taken into the van", "put_back": "put back", "count": "counted: there is so much of it in all"}
FORM = PlainForm(
    title="Change what is in the van of",
    button="Store",
    schema=MovementSchema(),
    fields=(
        Field(name="id", label="", kind="hidden"),
        Field(name="action", label="What is done", kind="choice", options=ACTIONS),
        Field(
            name="item",
            label="What",
            kind="known",
            options=tuple(map(words, (*COMPONENT_KINDS, CONCENTRATE, CLEANER))),
            hint="such as pump, glycol concentrate or belt",
        ),
        Field(name="count", label="How many", kind="whole"),
        Field(name="quantity", label="or how much", hint="with its unit, such as 2 L or 1.5 gal"),
    ),
)
MOST_SHOWN = 20
pages = Pages("vans")


@pages.get("/vans", allow=STAFF)
def all_vans() -> Response:
    """What each van is likely to need; a technician's own token leads to the technician's van."""
    own = caller().technician
    if own is not None and caller().role not in OFFICE:
        return see_other(f"/vans/{own}")
    on = _day()
    with database().reading() as store:
        technicians = _working(store, on or local_day(now(), zone_of(store)))
        load = vans.load(store, now(), on, None)
    return show("vans.html", technicians=technicians, load=load, on=on, amount_of=_amount)


@pages.get("/vans/<code>", allow=STAFF)
def van(code: str) -> Response:
    """What a day is likely to need of one van, what is in it, and what was done last."""
    on = _day()
    with database().reading() as store:
        technician = store.technicians.get(code)
        stock = vans.stock(store, technician.code)
        lines = vans.load(store, now(), on, technician.code).get(technician.code, [])
        movements = store.vans.of(technician.code)
        zone = zone_of(store)
    own = caller().technician in (None, technician.code)
    return show(
        "van.html", technician=technician, stock=stock, lines=lines, movements=movements[: -MOST_SHOWN - 1 : -1],
        on=on, own=own, zone=zone, actions=ACTIONS, amount_of=_amount,
    )  # fmt: skip


@pages.get("/vans/<code>/change", allow=STAFF)
def movement_form(code: str) -> Response:
    """The form for something taken, put back or counted; a link may name the item."""
    given = {name: request.args[name] for name in ("action", "item") if name in request.args}
    return _form(code).page({"id": str(uuid4()), "action": "take"} | given)


@pages.post("/vans/<code>/change", allow=STAFF)
def add_movement(code: str) -> Response:
    """Record it once, however often it is sent."""

    def store_it(new: Document) -> str:
        check_own_van(code)
        with database().writing() as store:
            vans.move(store, actor(), code, new)
        return f"/vans/{code}"

    return _form(code).send(store_it, id=request.form.get("id") or str(uuid4()))


def _form(code: str) -> PlainForm:
    with database().reading() as store:
        return replace(FORM, about=store.technicians.get(code).name)


def _day() -> date | None:
    given = {"on": text} if (text := request.args.get("on", "").strip()) else {}
    found: date | None = read(VanListQuery(), given).get("on")
    return found


def _working(store: Store, day: date) -> list[Technician]:
    found = (each for each in store.technicians.by_id().values() if each.is_with_us(day))
    return sorted(found, key=lambda each: each.name)


def _amount(amount: float, dimension: str) -> str:
    """Pieces as a number, all else in the reader's units.

    >>> _amount(2.0, "count"), _amount(0.4, "count")
    ('2', '0.4')
    """
    if dimension == COUNTED:
        return f"{round(amount, 1):g}"
    return format_quantity(Quantity(amount, dimension, ""), caller().units_shown)
