"""A customer's year: the figures of each unit, and the same added up."""

from collections.abc import Sequence
from datetime import date, datetime
from functools import lru_cache
from hashlib import sha256
from typing import Any

from service.domain.condition.figures import known_of
from service.domain.instants import local_day
from service.domain.maintenance.tasks import Task
from service.domain.summary import counts, outages, pm, series, words
from service.domain.summary.cases import root_cause_lines
from service.domain.summary.definitions import DEFINITIONS
from service.domain.summary.records import CustomerRecord, UnitRecord, Window, window_of
from service.domain.summary.summary import DataState, ServiceSummary, UnitSummary

DIGEST_LENGTH = 16


def service_summary(
    record: CustomerRecord, year: int, *, as_of: datetime, program_version: str, units_shown: str
) -> ServiceSummary:
    """The whole summary; the same for the same record, `as_of`, version and units."""
    windows = [(each, window_of(year, as_of, each.site.time_zone)) for each in record.units]
    units = [
        unit_summary(each, window, told_on=local_day(as_of, each.site.time_zone))
        for each, window in windows
        if _is_there(each, window)
    ]
    whole = _widest([window for _, window in windows]) or window_of(year, as_of, "UTC")
    totals = _totals(units)
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
        headline=words.headline(units, year, totals["pm"], totals["without_cold_beer"], totals["replaced"]),
        **totals,
        units=tuple(units),
        gaps=words.gaps_of_all(units, whole, totals["refrigerant"]),
        definitions=DEFINITIONS,
    )


def _totals(units: Sequence[UnitSummary]) -> dict[str, Any]:
    """The figures of the units added up."""
    visits = [visit for unit in units for visit in unit.visits]
    return {
        "visits_by_kind": counts.visits_by_kind(visits),
        "time_on_site": counts.time_on_site(visits),
        "pm": pm.pm_count(line for unit in units for line in unit.pm_lines),
        "without_cold_beer": outages.total(outage for unit in units for outage in unit.outages),
        "replaced": counts.replaced(line for unit in units for line in unit.replacements),
        "refrigerant": counts.refrigerant(move for unit in units for move in unit.refrigerant_moves),
        "root_causes": counts.root_causes(case for unit in units for case in unit.root_causes),
    }


def unit_summary(record: UnitRecord, window: Window, *, told_on: date) -> UnitSummary:
    """The figures of one unit; `told_on` is the day at the site on which they are told."""
    unit, known = record.unit, known_of(record.unit)
    visits = tuple(each for each in record.visits if window.holds(each.on))
    by_visit = [series.visit_figures(record, each, known) for each in visits]
    due = pm.standing(record, window)
    lines = pm.judged(record, window, due)
    found = outages.outages(record, window)
    readings = tuple(each for visit in visits for each in record.readings.get(visit.id, ()))
    replacements = tuple(each for each in record.replacements if window.holds(each.on))
    moves = counts.refrigerant_moves(readings)
    cases = root_cause_lines(record, window, told_on)
    beer = series.before_after(record, visits, "beer_temperature_at_tap")
    glycol, condenser = series.glycol(by_visit, known), series.condenser(record, by_visit, known)
    return UnitSummary(
        **_about(record),
        visits_by_kind=counts.visits_by_kind(visits),
        time_on_site=counts.time_on_site(visits),
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
        refrigerant=counts.refrigerant(moves),
        refrigerant_moves=moves,
        root_causes=cases,
        advice=words.advice(unit.tag, visits, series.worries(by_visit, known), cases=cases, lines=lines),
        plan=pm.plan(record, window, due),
        gaps=words.gaps(unit.tag, visits=visits, found=found, beer=beer, glycol=glycol, condenser=condenser),
        visits=visits,
        readings=readings,
    )


def _about(record: UnitRecord) -> dict[str, Any]:
    """Which unit it is, and where."""
    names = ("tag", "site", "place", "maker", "model", "installed_on", "retired_on")
    told = {name: getattr(record.unit, name) for name in names}
    return told | {"site_name": record.site.name, "time_zone": record.site.time_zone}


def _is_there(record: UnitRecord, window: Window) -> bool:
    """In service on some day of the window, or visited or replaced in then."""
    unit = record.unit
    stood = (unit.installed_on or date.min) <= window.last and (unit.retired_on or date.max) >= window.first
    days = [*(each.on for each in record.visits), *(each.on for each in record.replacements)]
    return stood or any(window.holds(day) for day in days)


def _widest(windows: Sequence[Window]) -> Window | None:
    return max(windows, key=lambda window: (window.last, window.deadline), default=None)


@lru_cache(maxsize=64)
def _as_set(tasks: tuple[Task, ...]) -> str:
    """How tasks are set, as text; most units have the same."""
    return repr(
        [
            (task.code, str(task.interval), str(task.shortest), str(task.longest), task.adapts, task.applies)
            for task in tasks
        ]
    )


def data_state(record: CustomerRecord) -> DataState:
    """What the figures rest on; the digest is SHA-256, of which the first 16 hexadecimal digits are told."""
    parts = [repr((record.customer.code, record.customer.version))]
    for each in record.units:
        then = [(last, _as_set((task,))) for told in each.former.values() for last, task in told]
        cases = [(case.id, case.version, case.state) for case in each.cases]
        parts.append(repr((each.unit.tag, each.unit.version, each.site.code, each.site.version, each.versions)))
        parts.append(repr((_as_set(each.tasks), then, cases)))
    instants = [visit.arrived_at for each in record.units for visit in each.visits]
    return DataState(
        visits=len(instants),
        units=len(record.units),
        latest_visit_at=max(instants, default=None),
        digest=sha256("\n".join(parts).encode("utf-8", "surrogatepass")).hexdigest()[:DIGEST_LENGTH],
    )
