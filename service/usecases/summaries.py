"""Tell one customer's year."""

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Any

from service.domain.errors import Fault, Invalid
from service.domain.fleet import Site, Unit, UnitFilter
from service.domain.instants import FIRST_YEAR, to_text
from service.domain.summary.records import CustomerRecord, UnitRecord
from service.domain.summary.summary import ServiceSummary
from service.domain.summary.year import service_summary
from service.domain.task_settings import changed_task
from service.storage.store import Store
from service.usecases.due import fleet_tasks

CHUNK = 500
UNITS_UNLESS_TOLD = "us"


def summarise(
    store: Store, code: str, year: int, *, as_of: datetime, program_version: str, units_shown: str | None
) -> ServiceSummary:
    """The summary in the units asked for, else the customer's; NotFound, or Invalid for a year that has not begun."""
    if not FIRST_YEAR <= year <= as_of.year:
        raise Invalid([Fault("year", year, f"the years that can be told are {FIRST_YEAR} to {as_of.year}")])
    record = customer_record(store, code, year, as_of)
    return service_summary(
        record,
        year,
        as_of=as_of,
        program_version=program_version,
        units_shown=units_shown or record.customer.units_shown or UNITS_UNLESS_TOLD,
    )


def customer_record(store: Store, code: str, year: int, as_of: datetime) -> CustomerRecord:
    """What is on record of a customer up to `as_of`; the readings of that year only."""
    customer = store.customers.get(code)
    until, tasks = to_text(as_of), fleet_tasks(store)
    sites: Mapping[str, Site] = {
        site.code: site for site in _all(store.sites.page, key="code", customer_code=customer.code)
    }
    visits, performed = store.summaries.visits(code, until), store.summaries.performed(code, until)
    replacements, own = store.summaries.replacements(code, until), store.summaries.own_settings(code)
    readings = store.summaries.readings(code, until, since=f"{year}-01-01", until=f"{year}-12-31")
    wanted = UnitFilter(customer=code, retired=True)
    units: list[Unit] = list(_all(lambda **where: store.units.page(wanted, **where), key="tag"))
    return CustomerRecord(
        customer=customer,
        settings=store.task_settings.texts(),
        units=tuple(
            UnitRecord(
                unit=unit,
                site=sites[unit.site],
                tasks=tuple(
                    changed_task(task, next((each for each in own.get(unit.tag, ()) if each.task == name), None))
                    for name, task in tasks.items()
                ),
                visits=tuple(visit for _, visit in visits.get(unit.tag, ())),
                versions=tuple((visit.id, version) for version, visit in visits.get(unit.tag, ())),
                performed=tuple(performed.get(unit.tag, ())),
                replacements=tuple(replacements.get(unit.tag, ())),
                readings=readings,
            )
            for unit in units
        ),
    )


def customers(store: Store) -> list[str]:
    """The codes of all customers."""
    return [customer.code for customer in _all(store.customers.page, key="code")]


def _all(page: Callable[..., list[Any]], *, key: str, **where: Any) -> Iterator[Any]:
    after: str | None = None
    while found := page(after=after, limit=CHUNK, **where):
        yield from found
        after = getattr(found[-1], key)
