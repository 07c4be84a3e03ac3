"""One customer's year, and the fleet's: both add up the units' years."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from functools import partial

from service.domain.errors import Fault, Invalid
from service.domain.instants import FIRST_YEAR, end_of_day
from service.domain.record.locations import Stay, stays
from service.domain.record.unit_log import UnitLog
from service.domain.root_causes.life_cycle import RootCause
from service.domain.summary.customer import service_summary
from service.domain.summary.document import HandedOut, ServiceSummary
from service.domain.summary.fleet import FleetYear, fleet_year
from service.domain.summary.former_year import FormerYear, former_year
from service.domain.summary.root_causes import as_they_stood
from service.domain.summary.settings import ShopTasks
from service.domain.summary.unit_record import UnitRecord, parts_of
from service.domain.summary.unit_year import UnitYear, unit_year, years_of_stay
from service.storage.store import Store
from service.usecases import past_root_causes
from service.usecases.kept_years import KeptYears
from service.usecases.learning import learned_until

CHUNK = 200
USUAL_UNITS = "us"
KEPT = KeptYears()
Logs = Sequence[tuple[int, UnitLog]]
Records = Sequence[tuple[int, UnitRecord]]


def summarise(
    store: Store, code: str, year: int, *, as_of: datetime, program_version: str, units_shown: str | None
) -> ServiceSummary:
    """The summary in the units asked for, else the customer's; NotFound, or Invalid for a year that has not begun."""
    check_year(year, as_of)
    customer, logs = store.customers.get(code), list(store.unit_logs.of_customer(code))
    records = _records(logs, _company(store, as_of))
    summary = service_summary(
        customer,
        list(_unit_years(store, records, year, as_of, customer=code)),
        year,
        before=list(_year_before(records, year - 1, code)) if year > FIRST_YEAR else (),
        as_of=as_of,
        program_version=program_version,
        units_shown=units_shown or customer.units_shown or USUAL_UNITS,
    )
    return replace(
        summary,
        company=store.company.get().letterhead,
        technician=_technician(store, summary),
        handed_out=tuple(_handed_out(store, summary)),
    )


def _handed_out(store: Store, summary: ServiceSummary) -> Iterator[HandedOut]:
    """What of this year had been handed out by then, and whether its data are still these."""
    for each in store.issues.of_year(summary.customer, summary.year):
        if each.issued_at <= summary.as_of:
            differs = each.digest != summary.data_state.digest
            yield HandedOut(id=each.id, issued_at=each.issued_at, form=each.form, differs=differs)


def _technician(store: Store, summary: ServiceSummary) -> str | None:
    """The name of the technician who made most of our visits, of those who are still with us."""
    made = Counter(visit.technician for unit in summary.units for visit in unit.visits if visit.technician)
    names = {each.code: each.name for each in store.technicians.by_id().values() if each.left_on is None}
    here = [(-times, code) for code, times in made.items() if code in names]
    return names[min(here)[1]] if here else None


def summarise_fleet(store: Store, year: int, *, as_of: datetime, program_version: str) -> FleetYear:
    """The fleet year up to `as_of`, a few hundred units at a time; Invalid for a year that has not begun."""
    check_year(year, as_of)
    company = _company(store, as_of)
    chunks = (_records(logs, company) for logs in store.unit_logs.in_chunks(CHUNK))
    return fleet_year(
        (each for records in chunks for each in _unit_years(store, records, year, as_of)),
        store.customers.names(),
        year,
        as_of=as_of,
        settings=repr(store.task_settings.texts()),
        program_version=program_version,
    )


def check_year(year: int, as_of: datetime) -> None:
    """Raise Invalid for a year that has not begun or lies before all records."""
    if not FIRST_YEAR <= year <= as_of.year:
        raise Invalid([Fault("year", year, f"give a year from {FIRST_YEAR} to {as_of.year}")])


def _records(logs: Logs, company: ShopTasks) -> Records:
    """Each unit's record as it was known at the company's `as_of`."""
    return [(unit_id, UnitRecord(log, company)) for unit_id, log in logs]


def _unit_years(
    store: Store, records: Records, year: int, as_of: datetime, customer: str | None = None
) -> Iterator[UnitYear]:
    """The year of each unit, or of each of its stays at a customer; what came of decisions for the fleet alone.

    In a year that is over the root causes found in it stand as they did at its end; one found later, which an imported
    past may bear out, as it was decided since.
    """
    logs = [(unit_id, record.log) for unit_id, record in records]
    found = root_causes_then(store, logs, {log.unit.tag: as_of for _, log in logs})
    at_end = root_causes_then(store, logs, _year_ends(logs, year, as_of)) if year < as_of.year else {}
    former = root_causes_then(store, logs, _year_ends(logs, year - 1, as_of)) if customer is None else {}
    for _, record in records:
        tag = record.log.unit.tag
        stood = {each.kind: each for each in (*found.get(tag, ()), *at_end.get(tag, ()))}
        own = past_root_causes.with_those_of(store, record.log, stood.values(), year, as_of)
        if customer is None:
            yield unit_year(record, own, year, former.get(tag, ()))
        elif not record.log.moves:
            yield KEPT.get(record, year, ("year", own), partial(unit_year, record, own, year))
        else:
            for stay in _stays_at(record, customer):
                yield from years_of_stay(record, own, year, stay)


def _year_before(records: Records, year: int, customer: str) -> Iterator[FormerYear]:
    """The figures of a customer's units in the year before."""
    for _, record in records:
        if not record.log.moves:
            yield KEPT.get(record, year, ("former",), partial(_former, record, year))
            continue
        for stay in _stays_at(record, customer):
            yield from map(former_year, parts_of(record, year, stay))


def _former(record: UnitRecord, year: int) -> FormerYear:
    return former_year(record.part(year))


def _stays_at(record: UnitRecord, customer: str) -> Iterator[Stay | None]:
    """A unit's stays at a customer; None, for all of its time, where it was never moved."""
    if not record.log.moves:
        return iter((None,))
    return (stay for stay in stays(record.log.locations) if stay.customer == customer)


def _company(store: Store, as_of: datetime) -> ShopTasks:
    learned, learned_at = learned_until(store, as_of)
    return ShopTasks(
        as_of=as_of,
        settings={task: each.changes for task, each in store.task_settings.all().items()},
        changes=store.task_settings.changes(),
        learned=learned,
        learned_at=learned_at,
    )


def _year_ends(logs: Logs, year: int, as_of: datetime) -> dict[str, datetime]:
    """The last instant of a year at each unit, by tag; `as_of` where that comes first."""
    return {log.unit.tag: min(end_of_day(date(year, 12, 31), log.time_zone), as_of) for _, log in logs}


def root_causes_then(store: Store, chunk: Logs, ends: Mapping[str, datetime]) -> dict[str, tuple[RootCause, ...]]:
    """The root causes of some units by tag, as they stood at an instant of each unit."""
    unit_ids = [unit_id for unit_id, _ in chunk]
    by_unit: dict[str, list[RootCause]] = {}
    for each in store.root_causes.of_units(unit_ids):
        by_unit.setdefault(each.unit, []).append(each)
    if not by_unit:
        return {}
    decisions = store.root_causes.decisions(unit_ids)
    logs = {log.unit.tag: log for _, log in chunk}
    return {tag: as_they_stood(found, decisions, logs[tag], ends[tag]) for tag, found in by_unit.items()}


def customers(store: Store) -> list[str]:
    """The codes of all customers, in order."""
    return sorted(store.customers.names())
