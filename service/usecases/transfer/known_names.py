"""Customers, sites, units and technicians by code and name, as a table that is imported names them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from service.domain.record.fleet import UnitFilter
from service.storage.store import Store

ALL = 1_000_000


@dataclass(frozen=True, slots=True)
class KnownUnit:
    """A unit by its tag and its other names, with its site and the kinds of its components."""

    tag: str
    names: tuple[str, ...]
    site: str
    registered_on: date
    components: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Fleet:
    """Who is recorded: (code, name) of customers and technicians, (code, name, customer) of sites, and units."""

    customers: tuple[tuple[str, str], ...] = ()
    technicians: tuple[tuple[str, str], ...] = ()
    sites: tuple[tuple[str, str, str], ...] = ()
    units: tuple[KnownUnit, ...] = ()


def fleet(store: Store) -> Fleet:
    """Everybody by whom a table can name something; a unit has its former tags too."""
    former: dict[str, list[str]] = {}
    for tag, each in store.tags.everyones():
        former.setdefault(tag, []).append(each.tag)
    units = store.units.page(UnitFilter(retired=True), after=None, limit=ALL)
    return Fleet(
        customers=tuple((each.code, each.name) for each in store.customers.page(after=None, limit=ALL)),
        technicians=tuple((each.code, each.name) for each in store.technicians.page(after=None, limit=ALL)),
        sites=tuple((each.code, each.name, each.customer) for each in store.sites.page(after=None, limit=ALL)),
        units=tuple(
            KnownUnit(
                unit.tag,
                (*((unit.place,) if unit.place else ()), *former.get(unit.tag, ())),
                unit.site,
                unit.registered_on,
                {part.code: part.kind for part in unit.components if part.removed_on is None},
            )
            for unit in units
        ),
    )
