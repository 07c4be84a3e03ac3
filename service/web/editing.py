"""Changing customers, sites, units and their components, technicians and the company: forms that open with what is."""

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from flask import Response

from service.api.auth import OFFICE, OWNER
from service.api.state import actor, database
from service.domain.errors import Conflict, Fault, Invalid, NotFound
from service.usecases.record import company, fleet, units
from service.usecases.system import Store
from service.web.page import Pages
from service.web.plain_form import CHANGED, PlainForm, Shaped
from service.web.record_forms import A_TECHNICIAN, COMPANY, COMPONENT, CUSTOMER, NEW_COMPONENT, SITE, UNIT
from service.web.render import show
from service.web.unit_lists import last_done_of

OF_COMPONENT = re.compile(r"components\.\d+\.")
Change = Callable[[Store, Any, Any, Mapping[str, Any]], object]
pages = Pages("editing")


@pages.get("/customers/<code>/edit", allow=OFFICE)
def customer_form(code: str) -> Response:
    """The form of a customer."""
    return _customer(code).page()


@pages.post("/customers/<code>/edit", allow=OFFICE)
def change_customer(code: str) -> Response:
    """Change a customer."""
    return _send(_customer(code), lambda store: store.customers.get(code), fleet.change_customer, "/register")


@pages.get("/sites/<code>/edit", allow=OFFICE)
def site_form(code: str) -> Response:
    """The form of a site."""
    return _site(code).page()


@pages.post("/sites/<code>/edit", allow=OFFICE)
def change_site(code: str) -> Response:
    """Change a site; the due dates of its units follow."""
    return _send(_site(code), lambda store: store.sites.get(code), fleet.change_site, "/register")


@pages.get("/units/<tag>/edit", allow=OFFICE)
def unit_form(tag: str) -> Response:
    """The form of a unit."""
    return _unit(tag).page()


@pages.post("/units/<tag>/edit", allow=OFFICE)
def change_unit(tag: str) -> Response:
    """Change or retire a unit."""
    return _send(_unit(tag), lambda store: store.units.get(tag), units.change_unit, f"/units/{tag}")


@pages.get("/units/<tag>/components", allow=OFFICE)
def components(tag: str) -> Response:
    """The components of a unit."""
    with database().reading() as store:
        unit = store.units.get(tag)
    return show("components.html", unit=unit)


@pages.get("/units/<tag>/new-component", allow=OFFICE)
def new_component_form(tag: str) -> Response:
    """The form for one more component."""
    return replace(NEW_COMPONENT, about=tag).page()


@pages.post("/units/<tag>/new-component", allow=OFFICE)
def add_component(tag: str) -> Response:
    """Add a component."""

    def add(new: Mapping[str, Any]) -> str:
        with database().writing() as store:
            former = store.units.get(tag)
            if new["code"] in former.kinds:
                raise Invalid([Fault("code", new["code"], "is a component of this unit already")])
            _change_component(store, former, new)
        return f"/units/{tag}/components"

    return replace(NEW_COMPONENT, about=tag).send(add)


@pages.get("/units/<tag>/components/<code>", allow=OFFICE)
def component_form(tag: str, code: str) -> Response:
    """The form of a component."""
    return _component(tag, code).page()


@pages.post("/units/<tag>/components/<code>", allow=OFFICE)
def change_component(tag: str, code: str) -> Response:
    """Change a component."""

    def change(store: Store, _actor: Any, former: Any, changes: Mapping[str, Any]) -> None:
        _change_component(store, former, {"code": code, **changes})

    return _send(_component(tag, code), lambda store: store.units.get(tag), change, f"/units/{tag}/components")


@pages.get("/technicians/<code>/edit", allow=OWNER)
def technician_form(code: str) -> Response:
    """The form of a technician."""
    return _technician(code).page()


@pages.post("/technicians/<code>/edit", allow=OWNER)
def change_technician(code: str) -> Response:
    """Change a technician, or record that one has left."""
    return _send(
        _technician(code), lambda store: store.technicians.get(code), fleet.change_technician, "/register"
    )  # fmt: skip


@pages.get("/company", allow=OWNER)
def company_form() -> Response:
    """The form of our own company."""
    return _company().page()


@pages.post("/company", allow=OWNER)
def change_company() -> Response:
    """Change our own company."""
    return _send(_company(), lambda store: store.company.get(), company.change_company, "/register")


def _send(form: PlainForm, get: Callable[[Store], Any], change: Change, path: str) -> Response:
    """Change the record that was seen in the version of the form."""

    def store_it(changes: Mapping[str, Any]) -> str:
        with database().writing() as store:
            former = get(store)
            if former.version != form.version:
                raise Conflict(CHANGED)
            change(store, actor(), former, changes)
        return f"/units/{changes['tag']}" if "tag" in changes else path

    return form.send(store_it)


def _change_component(store: Store, former: Any, new: Mapping[str, Any]) -> None:
    try:
        units.change_unit(store, actor(), former, {"components": [new]})
    except Invalid as refusal:
        faults = (replace(fault, field=OF_COMPONENT.sub("", fault.field)) for fault in refusal.faults)
        raise Invalid(faults, more=refusal.more) from refusal


def _customer(code: str) -> PlainForm:
    with database().reading() as store:
        found = store.customers.get(code)
    return CUSTOMER.of(found, found.name)


def _site(code: str) -> PlainForm:
    with database().reading() as store:
        found = store.sites.get(code)
        technicians = {each.code: each.name for each in store.technicians.by_id().values()}
    return SITE.with_options(technician=technicians).of(found, found.name)


def _unit(tag: str) -> PlainForm:
    with database().reading() as store:
        form = UNIT.of(store.units.get(tag), tag)
    stored = form.former or {}
    done = {each["task"]: each.get("on") or "unknown" for each in stored.get("last_done", ())}

    def shape(document: dict[str, Any]) -> Shaped:
        listed, at = last_done_of(done | document.get("done", {}))
        made = {name: value for name, value in document.items() if name != "done"}
        return made | ({"last_done": listed} if "done" in document else {}), at

    return replace(form, former=stored | {"done": done}, shape=shape)


def _component(tag: str, code: str) -> PlainForm:
    with database().reading() as store:
        unit = store.units.get(tag)
    found = next((each for each in unit.components if each.code == code), None)
    if found is None:
        raise NotFound("component", f"{tag}/{code}")
    return COMPONENT.of(found, f"{code} of {unit.tag}", version=unit.version)


def _technician(code: str) -> PlainForm:
    with database().reading() as store:
        found = store.technicians.get(code)
    return A_TECHNICIAN.of(found, found.name)


def _company() -> PlainForm:
    with database().reading() as store:
        return COMPANY.of(store.company.get())
