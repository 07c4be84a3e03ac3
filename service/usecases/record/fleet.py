"""Register and change customers, technicians and sites."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any, TypeVar

from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid
from service.domain.plain import from_plain
from service.domain.record.fleet import Customer, Leave, OpeningHours, Site, Technician
from service.storage.places import Place
from service.storage.store import Store
from service.usecases import audit
from service.usecases.record import dated_facts, ends, locations
from service.usecases.record.following import follow

Resource = TypeVar("Resource", Customer, Technician, Site)


def next_version(former: Resource, changes: Mapping[str, Any]) -> Resource:
    """The resource with the changes, one version on."""
    return replace(former, **changes, version=former.version + 1)


def fixed(changes: Mapping[str, Any], field: str, former: str, why: str) -> None:
    """Refuse to change what names the record."""
    if changes.get(field, former) != former:
        raise Invalid([Fault(field, changes[field], why)])


def add_customer(store: Store, actor: Actor, new: Mapping[str, Any]) -> Customer:
    """Register a customer."""
    customer = from_plain(Customer, new)
    _check_end(customer)
    store.customers.add(customer)
    audit.created(store, actor, "customer", customer.code, customer)
    return customer


def change_customer(store: Store, actor: Actor, former: Customer, changes: Mapping[str, Any]) -> Customer:
    """Change a customer that was read as `former`."""
    fixed(changes, "code", former.code, "a code stays; other records point to it")
    changed = next_version(former, changes)
    _check_end(changed)
    store.customers.save(changed)
    if (changed.care_from, changed.ended_on) != (former.care_from, former.ended_on):
        refresh_units(store, actor, store.units.places_of_customer(changed.code))
    ends.keep(store, actor, "customer", changed.code, former.ended_on, changed.ended_on)
    audit.changed(store, actor, "customer", changed.code, before=former, after=changed)
    return changed


def technician_fields(given: Mapping[str, Any]) -> dict[str, Any]:
    """The fields as a technician holds them; Invalid for a leave that ends before it begins."""
    skills = {"skills": tuple(dict.fromkeys(given["skills"] or ()))} if "skills" in given else {}
    if "leave" not in given:
        return {**given, **skills}
    leave = tuple(each if isinstance(each, Leave) else from_plain(Leave, each) for each in given["leave"] or ())
    faults = [
        Fault(f"leave.{n}.until", each.until.isoformat(), f"is before from, {each.from_.isoformat()}")
        for n, each in enumerate(leave)
        if each.until < each.from_
    ]
    if faults:
        raise Invalid(faults)
    return {**given, **skills, "leave": leave}


def site_fields(given: Mapping[str, Any]) -> dict[str, Any]:
    """The fields as a site holds them."""
    found = dict(given)
    if "closed_weekdays" in given:
        found["closed_weekdays"] = tuple(given["closed_weekdays"] or ())
    if "opening_hours" in given:
        hours = given["opening_hours"] or ()
        found["opening_hours"] = tuple(
            each if isinstance(each, OpeningHours) else from_plain(OpeningHours, each) for each in hours
        )
    return found


def add_technician(store: Store, actor: Actor, new: Mapping[str, Any]) -> Technician:
    """Register a technician."""
    technician = Technician(**technician_fields(new))
    store.technicians.add(technician)
    audit.created(store, actor, "technician", technician.code, technician)
    return technician


def change_technician(store: Store, actor: Actor, former: Technician, changes: Mapping[str, Any]) -> Technician:
    """Change a technician that was read as `former`."""
    fixed(changes, "code", former.code, "a code stays; other records point to it")
    changed = next_version(former, technician_fields(changes))
    store.technicians.save(changed)
    audit.changed(store, actor, "technician", changed.code, before=former, after=changed)
    return changed


def add_site(store: Store, actor: Actor, new: Mapping[str, Any]) -> Site:
    """Register a site of a customer."""
    site = from_plain(Site, new)
    _check_end(site)
    customer_id, technician_id = _references(store, site)
    store.sites.add(site, customer_id=customer_id, technician_id=technician_id)
    audit.created(store, actor, "site", site.code, site)
    return site


def change_site(store: Store, actor: Actor, former: Site, changes: Mapping[str, Any]) -> Site:
    """Change a site that was read as `former`; its units' due dates follow at once."""
    fixed(changes, "code", former.code, "a code stays; other records point to it")
    fixed(
        changes, "customer", former.customer, "a site stays with its customer; register the new one and move the units"
    )
    changed = next_version(former, site_fields(changes))
    _check_end(changed)
    customer_id, technician_id = _references(store, changed)
    store.sites.save(changed, customer_id=customer_id, technician_id=technician_id)
    dated_facts.keep(store, actor, former, changed)
    ids = store.sites.ids_of(changed.code)
    if ids is not None and (places := store.units.places_at([ids[0]])):
        if changed.time_zone != former.time_zone:
            for place in places:
                locations.relocate_visits(store, place)
        refresh_units(store, actor, places)
    ends.keep(store, actor, "site", changed.code, former.ended_on, changed.ended_on)
    audit.changed(store, actor, "site", changed.code, before=former, after=changed)
    return changed


def _check_end(given: Customer | Site) -> None:
    begun, ended = given.care_from, given.ended_on
    if begun is not None and ended is not None and ended < begun:
        raise Invalid([Fault("ended_on", ended.isoformat(), f"lies before care_from, {begun}")])


def refresh_units(store: Store, actor: Actor, places: Iterable[Place]) -> None:
    """Bring what follows from the history of some units, or from facts of their customer or site, up to date."""
    for place in places:
        follow(store, place, actor.at)


def _references(store: Store, site: Site) -> tuple[int, int | None]:
    customer_id = store.customers.id_of(site.customer)
    technician_id = None if site.technician is None else store.technicians.id_of(site.technician)
    faults = []
    if customer_id is None:
        faults.append(Fault("customer", site.customer, f"there is no customer {site.customer!r}"))
    if site.technician is not None and technician_id is None:
        faults.append(Fault("technician", site.technician, f"there is no technician {site.technician!r}"))
    if customer_id is None or faults:
        raise Invalid(faults)
    return customer_id, technician_id
