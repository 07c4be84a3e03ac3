"""A customer's year: the figures of each unit, and the same added up."""

from collections.abc import Sequence
from datetime import date, datetime
from hashlib import sha256

from service.domain.condition_figures import known_of
from service.domain.summary import counts, outages, pm, series, words
from service.domain.summary.records import CustomerRecord, UnitRecord, Window, window_of
from service.domain.summary.summary import DataState, Gap, ServiceSummary, UnitSummary

DIGEST_LENGTH = 16


def service_summary(
    record: CustomerRecord, year: int, *, as_of: datetime, program_version: str, units_shown: str
) -> ServiceSummary:
    """The whole summary; the same for the same record, `as_of`, version and units."""
    windows = [(each, window_of(year, as_of, each.site.time_zone)) for each in record.units]
    units = [unit_summary(each, window) for each, window in windows if _is_there(each, window)]
    whole = _widest([window for _, window in windows]) or window_of(year, as_of, "UTC")
    visits = [visit for unit in units for visit in unit.visits]
    count = pm.pm_count(line for unit in units for line in unit.pm_lines)
    without = outages.total(outage for unit in units for outage in unit.outages)
    replaced = counts.replaced(line for unit in units for line in unit.replacements)
    return ServiceSummary(
        customer=record.customer.code,
        customer_name=record.customer.name,
        year=year,
        as_of=as_of,
        first_day=whole.first,
        last_day=whole.last,
        plan_from=whole.plan_from,
        plan_to=whole.plan_to,
        data_state=data_state(record),
        program_version=program_version,
        units_shown=units_shown,
        headline=words.headline(
            visits=visits,
            units=len(units),
            year=year,
            pm=count,
            without=without,
            replaced=replaced,
            advised=[each for unit in units for each in unit.advice],
        ),
        visits_by_kind=counts.visits_by_kind(visits),
        pm=count,
        without_cold_beer=without,
        replaced=replaced,
        units=tuple(units),
        gaps=_gaps(units, whole),
        definitions=words.DEFINITIONS,
    )


def unit_summary(record: UnitRecord, window: Window) -> UnitSummary:
    """The figures of one unit."""
    unit, known = record.unit, known_of(record.unit)
    visits = tuple(each for each in record.visits if window.holds(each.on))
    by_visit = [(each, series.figures_of(record, each, known)) for each in visits]
    lines = pm.pm_lines(record, window)
    found = outages.outages(record, window)
    readings = series.reading_lines(record, visits)
    replacements = tuple(each for each in record.replacements if window.holds(each.on))
    beer = series.before_after(record, visits, "beer_temperature_at_tap")
    glycol, condenser = series.glycol(by_visit, known), series.condenser(record, by_visit, known)
    return UnitSummary(
        tag=unit.tag,
        site=unit.site,
        site_name=record.site.name,
        time_zone=record.site.time_zone,
        place=unit.place,
        maker=unit.maker,
        model=unit.model,
        installed_on=unit.installed_on,
        retired_on=unit.retired_on,
        visits_by_kind=counts.visits_by_kind(visits),
        pm=pm.pm_count(lines),
        pm_lines=lines,
        outages=found,
        without_cold_beer=outages.total(found),
        beer=beer,
        bath=series.before_after(record, visits, "bath_temperature"),
        replacements=replacements,
        replaced=counts.replaced(replacements),
        glycol=glycol,
        condenser=condenser,
        currents=series.currents(readings, known),
        refrigerant=words.REFRIGERANT,
        advice=words.advice(unit.tag, visits, series.worries(record, visits, known), lines),
        plan=pm.plan(record, window),
        gaps=words.gaps(unit.tag, visits=visits, found=found, beer=beer, glycol=glycol, condenser=condenser),
        visits=visits,
        readings=readings,
    )


def _is_there(record: UnitRecord, window: Window) -> bool:
    """In service on some day of the window, or visited or replaced in then."""
    unit = record.unit
    stood = (unit.installed_on or date.min) <= window.last and (unit.retired_on or date.max) >= window.first
    days = [*(each.on for each in record.visits), *(each.on for each in record.replacements)]
    return stood or any(window.holds(day) for day in days)


def _widest(windows: Sequence[Window]) -> Window | None:
    return max(windows, key=lambda window: (window.last, window.deadline), default=None)


def data_state(record: CustomerRecord) -> DataState:
    """What the figures rest on; the digest is SHA-256, of which the first 16 hexadecimal digits are told."""
    parts = [repr((record.customer.code, record.customer.version, record.settings))]
    for each in record.units:
        tasks = [(task.code, str(task.interval), task.applies) for task in each.tasks]
        parts.append(repr((each.unit.tag, each.unit.version, each.site.code, each.site.version, tasks, each.versions)))
    instants = [visit.arrived_at for each in record.units for visit in each.visits]
    return DataState(
        visits=len(instants),
        units=len(record.units),
        latest_visit_at=max(instants, default=None),
        digest=sha256("\n".join(parts).encode("utf-8", "surrogatepass")).hexdigest()[:DIGEST_LENGTH],
    )


def _gaps(units: Sequence[UnitSummary], whole: Window) -> tuple[Gap, ...]:
    silent = sum(not unit.visits for unit in units)
    told = (
        (not units, "No unit of this customer was in service in this time."),
        (whole.last < date(whole.first.year, 12, 31), f"The year is told up to {whole.last.isoformat()} only."),
        (bool(silent), f"{silent} of {len(units)} units have no visit on record in this time."),
        (True, "Prices are not recorded, so no money is told."),
    )
    return tuple(Gap(unit=None, sentence=sentence) for is_so, sentence in told if is_so)
