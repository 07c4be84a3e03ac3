"""Registering customers, sites, units and technicians."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from flask import Response, request

from service.api.auth import OFFICE, OWNER
from service.api.state import actor, database
from service.domain.plain import as_entered
from service.domain.record.fleet import COMPONENT_KINDS, SURROUNDINGS, UNIT_SYSTEMS, WEEKDAYS
from service.schemas.fleet import CustomerSchema, SiteSchema, TechnicianSchema
from service.schemas.units import UnitSchema
from service.usecases.record import fleet, units
from service.usecases.system import Store
from service.web.page import Pages
from service.web.pasted_place import HINT, WEST, place_of
from service.web.plain_form import Field, PlainForm
from service.web.render import show
from service.web.unit_lists import LAST_DONE, TRUNK, lists_of

CODE = Field(name="code", label="Short code", hint="stays for good, such as lantern-quay")
NAME = Field(name="name", label="Name")
PHONE = Field(name="phone", label="Phone", kind="tel")
EMAIL = Field(name="email", label="E-mail", kind="email")
CARE_FROM = Field(name="care_from", label="In our care from", kind="date")
TECHNICIAN = Field(name="technician", label="Usual technician", kind="select")


def place(of: str = "") -> tuple[Field, Field]:
    """The two fields of a place on the map."""
    return (
        Field(name="latitude", label="Latitude", kind="signed", hint=of + HINT),
        Field(name="longitude", label="Longitude", kind="signed", hint=WEST),
    )


MOST = 1000
SYSTEMS = dict(zip(UNIT_SYSTEMS, ("SI (°C, kPa)", "US (°F, psi)"), strict=True))
OF_MODEL = ("maker", "model", "supply", "refrigeration", "bath", "components", "trunks")
NOT_ASKED = (*OF_MODEL[2:], "trunk")
OF_ONE = ("installed_on", "removed_on")

OF_CUSTOMER = (
    NAME,
    Field(name="contact", label="Contact"),
    PHONE,
    EMAIL,
    Field(name="units_shown", label="Units in letters", kind="choice", options=SYSTEMS),
    CARE_FROM,
)
CUSTOMER = PlainForm(
    title="Register a customer",
    button="Register",
    schema=CustomerSchema(),
    fields=(CODE, *OF_CUSTOMER),
)
SITE = PlainForm(
    title="Register a site",
    button="Register",
    schema=SiteSchema(),
    shape=place_of,
    fields=(
        Field(name="customer", label="Customer", kind="select"),
        CODE,
        NAME,
        Field(name="address", label="Address"),
        Field(name="time_zone", label="Time zone", hint="such as America/Denver"),
        Field(name="access", label="Access", kind="area", hint="keys, codes, roof, dogs"),
        Field(name="surroundings", label="Surroundings of the condensers", kind="choice", options=SURROUNDINGS),
        Field(name="closed_weekdays", label="Closed on", kind="ticks", options=WEEKDAYS),
        TECHNICIAN,
        *place(),
        CARE_FROM,
    ),
)
UNIT = PlainForm(
    title="Register a unit",
    button="Register",
    schema=UnitSchema(),
    shape=lists_of,
    fields=(
        Field(name="like", label="", kind="hidden"),
        Field(name="tag", label="Tag on its sticker"),
        Field(name="site", label="Site", kind="select"),
        Field(name="replaces", label="In place of", hint="the tag of a unit that it replaces"),
        Field(name="place", label="Place", hint="where on the site"),
        Field(name="maker", label="Maker"),
        Field(name="model", label="Model"),
        Field(name="serial", label="Serial number"),
        Field(name="installed_on", label="Installed on", kind="date"),
        CARE_FROM,
        Field(name="bath.volume", label="Bath volume", hint="with its unit, such as 38 L or 10 gal"),
        Field(name="bath.set_point", label="Set point", hint="such as 29 degF"),
        Field(name="refrigeration.refrigerant", label="Refrigerant", hint="such as R290"),
        Field(name="components", label="Components", kind="ticks", options=COMPONENT_KINDS),
        *TRUNK,
        *LAST_DONE,
    ),
)
A_TECHNICIAN = PlainForm(
    title="Register a technician", button="Register", schema=TechnicianSchema(), fields=(CODE, NAME, PHONE, EMAIL)
)
pages = Pages("register")


@pages.get("/register", allow=OFFICE)
def overview() -> Response:
    """What can be registered, and the customers with their sites."""
    with database().reading() as store:
        customers = store.customers.page(after=None, limit=MOST)
        sites = store.sites.page(after=None, limit=MOST, customer_code=None)
        technicians = sorted(store.technicians.by_id().values(), key=lambda each: each.name)
    return show("register.html", customers=customers, sites=sites, technicians=technicians)


@pages.get("/register/customer", allow=OFFICE)
def customer_form() -> Response:
    """The form for a customer."""
    return CUSTOMER.page()


@pages.post("/register/customer", allow=OFFICE)
def add_customer() -> Response:
    """Register a customer, and go on to a site."""
    return CUSTOMER.send(lambda new: _stored(fleet.add_customer, new, "/register/site?customer={}", "code"))


@pages.get("/register/site", allow=OFFICE)
def site_form() -> Response:
    """The form for a site."""
    return _site().page(request.args.to_dict())


@pages.post("/register/site", allow=OFFICE)
def add_site() -> Response:
    """Register a site, and go on to a unit."""
    return _site().send(lambda new: _stored(fleet.add_site, new, "/register/unit?site={}", "code"))


@pages.get("/register/unit", allow=OFFICE)
def unit_form() -> Response:
    """The form for a unit; `like` is the tag of one of the same model, whose parts it gets."""
    given = request.args.to_dict()
    with database().reading() as store:
        model = _model(store, given.get("like"))
    return _unit(given.get("like")).page({name: text for name, text in model.items() if isinstance(text, str)} | given)


@pages.post("/register/unit", allow=OFFICE)
def add_unit() -> Response:
    """Register a unit with components ticked, or with all parts of the unit it is like."""
    form = _unit(request.form.get("like"))
    with database().reading() as store:
        model = _model(store, request.form.get("like"))
    given = form.document(request.form)
    parts = {
        "components": [{"code": f"{kind.replace('_', '-')}-1", "kind": kind} for kind in given.get("components", ())]
    }
    for name in ("bath", "refrigeration"):
        if name in model or name in given:
            parts[name] = model.get(name, {}) | given.get(name, {})
    also = model | given | parts | ({"components": model["components"]} if model.get("components") else {})
    also.pop("like", None)
    return form.send(lambda new: _stored(units.add_unit, new, "/units/{}", "tag"), **also)


@pages.get("/register/technician", allow=OWNER)
def technician_form() -> Response:
    """The form for a technician."""
    return A_TECHNICIAN.page()


@pages.post("/register/technician", allow=OWNER)
def add_technician() -> Response:
    """Register a technician, and go on to a token."""
    return A_TECHNICIAN.send(lambda new: _stored(fleet.add_technician, new, "/tokens?technician={}", "code"))


def _stored(add: Any, new: Mapping[str, Any], path: str, key: str) -> str:
    with database().writing() as store:
        made = add(store, actor(), new)
    return path.format(getattr(made, key))


def _site() -> PlainForm:
    with database().reading() as store:
        customers = {each.code: each.name for each in store.customers.page(after=None, limit=MOST)}
        technicians = {each.code: each.name for each in store.technicians.by_id().values()}
    return SITE.with_options(customer=customers, technician=technicians)


def _unit(like: str | None) -> PlainForm:
    """The form; for a unit like another one without the fields of which it gets the other's."""
    with database().reading() as store:
        sites = store.sites.page(after=None, limit=MOST, customer_code=None)
    form = UNIT.with_options(site={each.code: each.name for each in sites})
    if not like:
        return form
    own = tuple(each for each in form.fields if each.name.partition(".")[0] not in NOT_ASKED and each != TRUNK[0])
    return replace(
        form, fields=own, intro=f"It gets the electrical data, circuit, bath, components and trunks of {like}."
    )


def _model(store: Store, tag: str | None) -> dict[str, Any]:
    """What units of one model share, as the API takes it: all but what is of that one unit."""
    if not tag:
        return {}
    known = as_entered(store.units.get(tag))
    model = {name: known[name] for name in OF_MODEL if known.get(name)}
    parts = [{k: v for k, v in part.items() if k not in OF_ONE} for part in model.get("components", ())]
    return model | ({"components": parts} if parts else {})
