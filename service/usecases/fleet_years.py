"""Tell the fleet's year."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import datetime

from service.domain.instants import to_text
from service.domain.summary.cases import as_they_stood
from service.domain.summary.fleet_record import FleetUnit
from service.domain.summary.fleet_year import FleetYear, fleet_year
from service.domain.summary.records import UnitRecord
from service.domain.summary.settings import Settings
from service.storage.fleet_years import FleetPlace
from service.storage.store import Store
from service.usecases.summaries import by_unit, year_to_tell

CHUNK = 200


def summarise_fleet(store: Store, year: int, *, as_of: datetime, program_version: str) -> FleetYear:
    """The fleet's year as far as `as_of` saw it; Invalid for a year that has not begun."""
    year_to_tell(year, as_of)
    settings = repr(store.task_settings.texts())
    return fleet_year(fleet_units(store, as_of), year, as_of=as_of, settings=settings, program_version=program_version)


def fleet_units(store: Store, as_of: datetime) -> Iterator[FleetUnit]:
    """Every unit with its record up to `as_of`, a few hundred at a time, so that a large fleet is never held whole."""
    after = 0
    while places := store.fleet_years.places(after, CHUNK):
        yield from _records(store, places, as_of)
        after = places[-1].id


def _records(store: Store, places: list[FleetPlace], as_of: datetime) -> Iterator[FleetUnit]:
    low, high, until, rows = places[0].id, places[-1].id, to_text(as_of), store.fleet_years
    visits, performed = rows.visits(low, high, until), rows.performed(low, high, until)
    replacements, components = rows.replacements(low, high, until), rows.components(low, high)
    settings, decisions = _settings(store, places), rows.decisions(low, high)
    for_all, cases = settings.for_all(as_of), by_unit(store.root_causes.between(low, high))
    for place in places:
        told, zone = visits.get(place.id, ()), place.site.time_zone
        unit = replace(place.unit, components=tuple(components.get(place.id, ())))
        record = UnitRecord(
            unit=unit,
            site=place.site,
            tasks=settings.at(unit, zone, as_of, for_all),
            former=settings.former(unit, zone, as_of),
            visits=tuple(visit for _, visit in told),
            versions=tuple((visit.id, version) for version, visit in told),
            performed=tuple(performed.get(place.id, ())),
            replacements=tuple(replacements.get(place.id, ())),
            readings={},
            cases=as_they_stood(cases.get(unit.tag, ()), decisions, as_of=as_of, zone=zone),
        )
        yield FleetUnit(record=record, customer=place.customer, customer_name=place.customer_name)


def _settings(store: Store, places: Sequence[FleetPlace]) -> Settings:
    low, high, tags = places[0].id, places[-1].id, {place.id: place.unit.tag for place in places}
    own = store.task_settings.own_in(low, high)
    return Settings(
        shop={task: each.changes for task, each in store.task_settings.all().items()},
        shop_before=store.summaries.shop_changes(),
        own={(tags[key], task): each.changes for key, told in own.items() for task, each in told.items()},
        own_before=store.fleet_years.own_changes(low, high),
    )
