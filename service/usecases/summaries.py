"""One customer's year, and the fleet's: both add up the units' years."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime

from service.domain.errors import Fault, Invalid
from service.domain.instants import FIRST_YEAR, end_of_day
from service.domain.record.locations import stays
from service.domain.record.unit_log import UnitLog
from service.domain.root_causes.life_cycle import RootCause
from service.domain.summary.customer import service_summary
from service.domain.summary.document import HandedOut, ServiceSummary
from service.domain.summary.fleet import FleetYear, fleet_year
from service.domain.summary.root_causes import as_they_stood
from service.domain.summary.settings import ShopTasks
from service.domain.summary.unit_year import UnitYear, unit_year, year_of_stay
from service.storage.store import Store
from service.usecases import past_root_causes
from service.usecases.learning import learned_by

CHUNK = 200
USUAL_UNITS = "us"
Logs = Sequence[tuple[int, UnitLog]]


def summarise(
    store: Store, code: str, year: int, *, as_of: datetime, program_version: str, units_shown: str | None
) -> ServiceSummary:
    """The summary in the units asked for, else the customer's; NotFound, or Invalid for a year that has not begun."""
    check_year(year, as_of)
    customer, logs = store.customers.get(code), list(store.unit_logs.of_customer(code))
    summary = service_summary(
        customer,
        list(_unit_years(store, [logs], year, as_of, customer=code)),
        year,
        before=list(_year_before(store, logs, year - 1, as_of, code)) if year > FIRST_YEAR else (),
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
    return fleet_year(
        _unit_years(store, store.unit_logs.in_chunks(CHUNK), year, as_of),
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


def _unit_years(
    store: Store, chunks: Iterable[Logs], year: int, as_of: datetime, customer: str | None = None
) -> Iterator[UnitYear]:
    """The year of each unit, or of each of its stays at a customer; what came of decisions for the fleet alone."""
    company = _company(store, as_of)
    for chunk in ([(unit_id, _as_known(log, as_of)) for unit_id, log in logs] for logs in chunks):
        found = root_causes_then(store, chunk, {log.unit.tag: as_of for _, log in chunk})
        ends = {log.unit.tag: _year_end(log, year - 1) for _, log in chunk}
        former = root_causes_then(store, chunk, ends) if customer is None else {}
        for _, log in chunk:
            own = past_root_causes.with_those_of(store, log, found.get(log.unit.tag, ()), year, as_of)
            yield from _years(log, company, own, year, customer, former.get(log.unit.tag, ()))


def _year_before(store: Store, logs: Logs, year: int, as_of: datetime, customer: str) -> Iterator[UnitYear]:
    """The years of a customer's units without root causes, of which the figures of the year before have none."""
    company = _company(store, as_of)
    for _, log in logs:
        yield from _years(_as_known(log, as_of), company, (), year, customer, ())


def _company(store: Store, as_of: datetime) -> ShopTasks:
    return ShopTasks(
        as_of=as_of,
        settings={task: each.changes for task, each in store.task_settings.all().items()},
        changes=store.task_settings.changes(),
        learned=learned_by(store, as_of),
    )


def _years(
    log: UnitLog,
    company: ShopTasks,
    found: Iterable[RootCause],
    year: int,
    customer: str | None,
    before: Iterable[RootCause],
) -> Iterator[UnitYear]:
    if customer is None or not log.moves:
        yield unit_year(log, company, found, year, before)
        return
    for stay in stays(log.locations):
        if stay.customer == customer:
            yield from year_of_stay(log, company, found, year, stay)


def _year_end(log: UnitLog, year: int) -> datetime:
    return end_of_day(date(year, 12, 31), log.time_zone)


def _as_known(log: UnitLog, as_of: datetime) -> UnitLog:
    """The log as it was recorded by `as_of`; how tasks were set on each day the year itself works out."""
    later = (
        any(visit.posted_at > as_of for visit in (*log.all_visits, *log.moved_away)),
        any(visit.void is not None and visit.void.at > as_of for visit in log.all_visits),
        any(made.at > as_of for each in log.corrections.values() for made in each),
        any(call.posted_at > as_of for call in log.calls),
        bool(log.moves or log.pauses or log.closures),
    )
    if not any(later):
        return log.facts_at(as_of)
    return replace(log.known_at(as_of), settings=log.settings, setting_changes=log.setting_changes)


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
