"""Tell one customer's year."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any

from service.domain.errors import Fault, Invalid
from service.domain.instants import FIRST_YEAR, to_text
from service.domain.record.fleet import Site, Unit, UnitFilter
from service.domain.root_causes.life_cycle import RootCause
from service.domain.summary.cases import as_they_stood
from service.domain.summary.records import CustomerRecord, UnitRecord, found_at
from service.domain.summary.settings import Settings
from service.domain.summary.summary import ServiceSummary
from service.domain.summary.year import service_summary
from service.storage.store import Store

CHUNK = 500
UNITS_UNLESS_TOLD = "us"


def summarise(
    store: Store, code: str, year: int, *, as_of: datetime, program_version: str, units_shown: str | None
) -> ServiceSummary:
    """The summary in the units asked for, else the customer's; NotFound, or Invalid for a year that has not begun."""
    year_to_tell(year, as_of)
    record = customer_record(store, code, year, as_of)
    return service_summary(
        record,
        year,
        as_of=as_of,
        program_version=program_version,
        units_shown=units_shown or record.customer.units_shown or UNITS_UNLESS_TOLD,
    )


def year_to_tell(year: int, as_of: datetime) -> None:
    """Raise Invalid for a year that has not begun, or lies before all that can be told."""
    if not FIRST_YEAR <= year <= as_of.year:
        raise Invalid([Fault("year", year, f"the years that can be told are {FIRST_YEAR} to {as_of.year}")])


def customer_record(store: Store, code: str, year: int, as_of: datetime) -> CustomerRecord:
    """What is on record of a customer up to `as_of`; the readings of that year only."""
    customer = store.customers.get(code)
    wanted = UnitFilter(customer=code, retired=True)
    units: list[Unit] = list(_all(lambda **where: store.units.page(wanted, **where), key="tag"))
    sites: Mapping[str, Site] = {
        site.code: site for site in _all(store.sites.page, key="code", customer_code=customer.code)
    }
    until, settings = to_text(as_of), _settings(store, code)
    visits, performed = store.summaries.visits(code, until), store.summaries.performed(code, until)
    replacements, decisions = store.summaries.replacements(code, until), store.summaries.decisions(code)
    cases = by_unit(store.root_causes.of_customer(code))
    readings = store.summaries.readings(code, until, since=f"{year}-01-01", until=f"{year}-12-31")
    for_all = settings.for_all(as_of)
    return CustomerRecord(
        customer=customer,
        units=tuple(
            UnitRecord(
                unit=unit,
                site=sites[unit.site],
                tasks=settings.at(unit, sites[unit.site].time_zone, as_of, for_all),
                former=settings.former(unit, sites[unit.site].time_zone, as_of),
                visits=tuple(visit for _, visit in visits.get(unit.tag, ())),
                versions=tuple((visit.id, version) for version, visit in visits.get(unit.tag, ())),
                performed=tuple(each for _, each in performed.get(unit.tag, ())),
                finds=found_at(performed.get(unit.tag, ())),
                replacements=tuple(replacements.get(unit.tag, ())),
                readings=readings,
                cases=as_they_stood(cases.get(unit.tag, ()), decisions, as_of=as_of, zone=sites[unit.site].time_zone),
            )
            for unit in units
        ),
    )


def _settings(store: Store, code: str) -> Settings:
    return Settings(
        shop={task: each.changes for task, each in store.task_settings.all().items()},
        shop_before=store.summaries.shop_changes(),
        own={
            (tag, each.task): each.changes for tag, told in store.summaries.own_settings(code).items() for each in told
        },
        own_before=store.summaries.own_changes(code),
    )


def by_unit(cases: Iterable[RootCause]) -> dict[str, list[RootCause]]:
    """Suspected root causes by the tag of their unit."""
    found: dict[str, list[RootCause]] = {}
    for case in cases:
        found.setdefault(case.unit, []).append(case)
    return found


def customers(store: Store) -> list[str]:
    """The codes of all customers."""
    return [customer.code for customer in _all(store.customers.page, key="code")]


def _all(page: Callable[..., list[Any]], *, key: str, **where: Any) -> Iterator[Any]:
    after: str | None = None
    while True:
        found = page(after=after, limit=CHUNK, **where)
        yield from found
        if len(found) < CHUNK:
            return
        after = getattr(found[-1], key)
