"""Move units: a location is dated, and begins with its day at its site, whether that is past, today or to come."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Any

from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid
from service.domain.record.fleet import Site
from service.domain.record.locations import Location, in_force, location_at
from service.domain.record.unit_log import UnitLog
from service.storage.audit import FIRST_LOCATION
from service.storage.places import Place
from service.storage.store import Store
from service.usecases import audit
from service.usecases.record.following import follow
from service.usecases.record.out_of_service import standing_faults
from service.usecases.system import FleetDatabase

EARLIEST_ZONE, LATEST_ZONE = timedelta(hours=14), timedelta(hours=-12)  # from UTC: where a day begins first and last


def move(store: Store, actor: Actor, tag: str, new: Mapping[str, Any]) -> UnitLog:
    """Record a location of a unit, NotFound for an unknown one; its history as it then is."""
    place = store.units.place(tag, to_write=True)
    record(store, actor, place, site=new["site"], starts_on=new["from"], reason=new.get("reason"))
    return settle(store, place, actor.at)


def record(store: Store, actor: Actor, place: Place, *, site: str, starts_on: date, reason: str | None) -> None:
    """Store a location and what it changes in the visits, not yet where the unit stands; Invalid for no change."""
    known = recorded(store, place)
    there = Location(site=_site(store, site), starts_on=starts_on, reason=reason, at=actor.at, by=actor.name)
    _check(place, known, there)
    if not actor.importing and (faults := list(standing_faults(store, there.site, starts_on))):
        raise Invalid(faults)
    if not store.locations.of(place.id):
        store.locations.add(place, 0, known[0])
    store.locations.add(place, len(known), there)
    relocate_visits(store, place)
    about = {"unit": place.tag, "site": site, "from": starts_on.isoformat(), "reason": reason}
    audit.created(store, actor, "location", f"{place.tag}/{starts_on}", about)


def restore(store: Store, actor: Actor, place: Place, line: Mapping[str, Any]) -> bool:
    """Store a location from a line of a file; whether it is new. The first location of a unit has no day."""
    site, starts_on, reason = line["site"], line.get("from"), line.get("reason")
    stored, known = store.locations.of(place.id), recorded(store, place)
    if starts_on is None:
        return _first(store, actor, place, site)
    there = Location(site=_site(store, site), starts_on=starts_on, reason=reason, at=actor.at, by=actor.name)
    if _as_recorded(there) in map(_as_recorded, stored) or _same(known, (*known, there)):
        return False
    record(store, actor, place, site=site, starts_on=starts_on, reason=reason)
    return True


def _first(store: Store, actor: Actor, place: Place, code: str) -> bool:
    """Store where a unit stood first that was never moved in this database, but in that of the file."""
    site, known = _site(store, code), recorded(store, place)
    if known[0].site == site:
        return False
    if store.locations.of(place.id):
        raise Invalid([Fault("site", code, f"the unit stood first at {known[0].site.code!r}")])
    store.locations.add(place, 0, Location(site=site))
    relocate_visits(store, place)
    audit.created(store, actor, "location", f"{place.tag}{FIRST_LOCATION}", {"unit": place.tag, "site": code})
    return True


def _site(store: Store, code: str) -> Site:
    if store.sites.ids_of(code) is None:
        raise Invalid([Fault("site", code, f"there is no site {code!r}")])
    return store.sites.get(code)


def _as_recorded(location: Location) -> tuple[Any, ...]:
    """What was recorded of a location; the facts of its site and customer change later."""
    return location.site.code, location.starts_on, location.reason, location.at, location.by


def _same(former: Sequence[Location], new: Sequence[Location]) -> bool:
    """Whether the unit stands at the same sites from the same days, for the same reasons."""
    one, other = ([(each.starts_on, each.site.code, each.reason) for each in in_force(of)] for of in (former, new))
    return one == other


def recorded(store: Store, place: Place) -> tuple[Location, ...]:
    """A unit's locations as they were recorded; the one where it stands, for one that was never moved."""
    return store.locations.of(place.id) or (Location(site=store.sites.get(place.site)),)


def relocate_visits(store: Store, place: Place) -> None:
    """Give every visit of a unit the site, customer and day that it has by the unit's locations."""
    store.visits.flush()
    locations = in_force(recorded(store, place))
    places = {each.site.code: store.locations.place_in(place, each) for each in locations}
    store.locations.relocate(place.id, lambda at: places[location_at(locations, at).site.code])


def settle(store: Store, place: Place, at: datetime) -> UnitLog:
    """Let the unit stand where its locations have it at an instant, with all that follows; its history."""
    stand(store, place, at)
    log, _ = follow(store, store.units.place(place.tag), at)
    return log


def stand(store: Store, place: Place, at: datetime) -> None:
    """Store the site where a unit stands by its locations at an instant; due items and root causes go along."""
    there = store.locations.place_at(place, at)
    if there.site_id != place.site_id:
        store.units.stand(place, there)
        store.due.move(there)
        store.root_causes.move(there)


def begin(database: FleetDatabase, at: datetime) -> int:
    """Let the units stand at the locations that have begun since; how many there were. Nothing is written for none."""
    settled, day = ((at + ahead).date().isoformat() for ahead in (LATEST_ZONE, EARLIEST_ZONE))
    with database.reading() as store:
        tags = [tag for tag in store.locations.to_begin(settled, day) if _has_moved(store, tag, at)]
    for tag in tags:
        with database.writing() as store:
            settle(store, store.units.place(tag, to_write=True), at)
    return len(tags)


def _has_moved(store: Store, tag: str, at: datetime) -> bool:
    place = store.units.place(tag)
    return store.locations.place_at(place, at).site_id != place.site_id


def _check(place: Place, known: tuple[Location, ...], there: Location) -> None:
    faults = []
    starts_on = there.starts_on
    day = None if starts_on is None else starts_on.isoformat()
    if day is not None and place.installed_on is not None and day < place.installed_on:
        faults.append(Fault("from", day, f"lies before the unit's installation on {place.installed_on}"))
    if not faults and _same(known, (*known, there)):
        faults.append(Fault("site", there.site.code, f"is where the unit stands from {day or 'the beginning'}"))
    if faults:
        raise Invalid(faults)
