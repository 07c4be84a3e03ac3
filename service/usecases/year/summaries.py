"""One customer's year, and the fleet's: both add up the units' years."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime

from service.domain.errors import Fault, Invalid
from service.domain.instants import FIRST_YEAR, end_of_day
from service.domain.record.locations import Stay, stays
from service.domain.record.unit_log import UnitLog
from service.domain.root_causes.life_cycle import RootCause
from service.domain.summary.customer import service_summary
from service.domain.summary.document import HandedOut, ServiceSummary
from service.domain.summary.fleet import FleetYear, fleet_year
from service.domain.summary.former_year import FormerYear, former_year
from service.domain.summary.kept_year import InWindow, kept_year
from service.domain.summary.root_causes import as_they_stood
from service.domain.summary.settings import ShopTasks
from service.domain.summary.unit_record import UnitRecord, parts_of
from service.domain.summary.unit_year import UnitYear, unit_year, years_of_stay
from service.storage.store import Store
from service.usecases.maintenance.learning import learned_until
from service.usecases.root_causes import past_root_causes
from service.usecases.year import kept_years
from service.usecases.year.kept_years import Basis

CHUNK = 200
USUAL_UNITS = "us"
Logs = Sequence[tuple[int, UnitLog]]


def summarise(
    store: Store, code: str, year: int, *, as_of: datetime, program_version: str, units_shown: str | None
) -> ServiceSummary:
    """The summary in the units asked for, else the customer's; NotFound, or Invalid for a year that has not begun."""
    check_year(year, as_of)
    customer = store.customers.get(code)
    years, before = _years_of(store, code, year, _company(store, as_of))
    summary = service_summary(
        customer,
        years,
        year,
        before=before,
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


def _years_of(store: Store, code: str, year: int, shop: ShopTasks) -> tuple[list[InWindow], list[FormerYear]]:
    """The years of a customer's units, or of their stays there, and the figures of the year before.

    Kept years are used where they hold; only the histories of the other units are loaded.
    """
    asked, basis = store.unit_years.of_customer(code), Basis(store, shop, year)
    zones = {unit.tag: unit.zone for unit in asked}
    stood = _as_they_stood(store, [unit.id for unit in asked], zones, year, shop.as_of)
    marks = {unit.id: basis.mark(unit, stood.get(unit.tag, ())) for unit in asked}
    kept = kept_years.found(store, asked, marks, basis)
    logs = dict(store.unit_logs.of([unit.id for unit in asked if unit.id not in kept]))
    years: list[InWindow] = []
    before: list[FormerYear] = []
    for unit in asked:
        made = kept.get(unit.id)
        if made is None:
            record = UnitRecord(logs[unit.id], shop)
            own = past_root_causes.with_those_of(store, record.log, stood.get(unit.tag, ()), year, shop.as_of)
            if record.log.moves:
                years += _years_of_stays(record, own, year, code)
                before += _before_of_stays(record, year - 1, code) if year > FIRST_YEAR else ()
                continue
            made = kept_years.keep(store, unit, marks[unit.id], record, unit_year(record, own, year))
        years.append(made.in_window(basis.window(unit.zone)))
        before += () if made.content.former is None else (made.content.former,)
    return years, before


def _years_of_stays(record: UnitRecord, own: Sequence[RootCause], year: int, customer: str) -> Iterator[InWindow]:
    """The years of a moved unit's stays at a customer."""
    for stay in _stays_at(record, customer):
        for each in years_of_stay(record, own, year, stay):
            kept = kept_year(each)
            yield InWindow(kept, each.window, kept.on_day(each.window))


def _before_of_stays(record: UnitRecord, year: int, customer: str) -> Iterator[FormerYear]:
    for stay in _stays_at(record, customer):
        yield from map(former_year, parts_of(record, year, stay))


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
    return fleet_year(
        (each for logs in store.unit_logs.in_chunks(CHUNK) for each in _fleet_years(store, logs, company, year)),
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


def _fleet_years(store: Store, logs: Logs, shop: ShopTasks, year: int) -> Iterator[UnitYear]:
    """The year of each of some units, with what came of the decisions on its root causes."""
    as_of, ids = shop.as_of, [unit_id for unit_id, _ in logs]
    zones = {log.unit.tag: log.time_zone for _, log in logs}
    stood = _as_they_stood(store, ids, zones, year, as_of)
    former = root_causes_then(store, ids, zones, _year_ends(zones, year - 1, as_of))
    for _, log in logs:
        record, tag = UnitRecord(log, shop), log.unit.tag
        own = past_root_causes.with_those_of(store, record.log, stood.get(tag, ()), year, as_of)
        yield unit_year(record, own, year, former.get(tag, ()))


def _as_they_stood(
    store: Store, ids: Sequence[int], zones: Mapping[str, str], year: int, as_of: datetime
) -> dict[str, tuple[RootCause, ...]]:
    """The root causes of some units by tag, of which the zones are given.

    In a year that is over those found in it stand as they did at its end; one found later, which an imported past may
    bear out, as it was decided since.
    """
    found = root_causes_then(store, ids, zones, dict.fromkeys(zones, as_of))
    at_end = root_causes_then(store, ids, zones, _year_ends(zones, year, as_of)) if year < as_of.year else {}
    by_kind = {tag: {each.kind: each for each in (*causes, *at_end.get(tag, ()))} for tag, causes in found.items()}
    return {tag: tuple(causes.values()) for tag, causes in by_kind.items()}


def _stays_at(record: UnitRecord, customer: str) -> Iterator[Stay]:
    """A moved unit's stays at a customer."""
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


def _year_ends(zones: Mapping[str, str], year: int, as_of: datetime) -> dict[str, datetime]:
    """The last instant of a year at each unit, by tag; `as_of` where that comes first."""
    return {tag: min(end_of_day(date(year, 12, 31), zone), as_of) for tag, zone in zones.items()}


def root_causes_then(
    store: Store, unit_ids: Sequence[int], zones: Mapping[str, str], ends: Mapping[str, datetime]
) -> dict[str, tuple[RootCause, ...]]:
    """The root causes of some units by tag, as they stood at an instant of each unit."""
    by_unit: dict[str, list[RootCause]] = {}
    for each in store.root_causes.of_units(unit_ids):
        by_unit.setdefault(each.unit, []).append(each)
    if not by_unit:
        return {}
    decisions = store.root_causes.decisions(unit_ids)
    return {tag: as_they_stood(found, decisions, zones[tag], ends[tag]) for tag, found in by_unit.items()}


def customers(store: Store) -> list[str]:
    """The codes of all customers, in order."""
    return sorted(store.customers.names())
