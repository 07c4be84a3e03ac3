"""Our own company: change it, and say how much work a day it can do."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from service.domain.audit import Actor
from service.domain.driving.travel import ROAD_FACTOR, SPEED, Travel
from service.domain.plain import as_entered
from service.domain.record.company import Capacity, Company, capacity
from service.storage.store import Store
from service.usecases import audit
from service.usecases.record.calls import raise_logs

KEY = "company"


def change_company(store: Store, actor: Actor, former: Company, changes: Mapping[str, Any]) -> Company:
    """Change the company that was read as `former`."""
    changed = replace(former, **changes, version=former.version + 1)
    store.company.save(changed)
    if changed.time_zone != former.time_zone:
        raise_logs(store, store.calls.units_without_site())  # which are shown by the company's clock
    audit.changed(store, actor, "company", KEY, before=former, after=changed)
    return changed


def take(store: Store, actor: Actor, line: Mapping[str, Any]) -> str:
    """Store the company from a file: "added", "changed" or "unchanged"."""
    former = store.company.get()
    if replace(former, **line) == former:
        return "unchanged"
    change_company(store, actor, former, line)
    return "changed" if former.version else "added"


def zone_of(store: Store, others: Iterable[str] = ()) -> str:
    """The time zone of the company; where it has none the first of the others, else of all sites, else UTC."""
    return store.company.get().time_zone or next(iter(others), None) or next(iter(store.sites.zones()), "UTC")


def travel_of(store: Store, sites: Iterable[str]) -> Travel:
    """Times of travel between some sites, by what the company takes for them."""
    ours, table = store.company.get(), store.travel_times.among(set(sites))
    return Travel(
        table,
        road_factor=ROAD_FACTOR if ours.road_factor is None else ours.road_factor,
        speed=SPEED if ours.travel_speed_kmh is None else ours.travel_speed_kmh / 3.6,
        at_door=round(60 * (ours.minutes_at_door or 0.0)),
    )


def body_of(company: Company) -> dict[str, Any]:
    """The company as the body that the API takes."""
    return {name: value for name, value in as_entered(company).items() if name != "version"}


def capacity_on(store: Store, day: date) -> Capacity:
    """How many hours a day the technicians who have not left by a day work."""
    return capacity(store.company.get(), store.technicians.by_id().values(), day)
