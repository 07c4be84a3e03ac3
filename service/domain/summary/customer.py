"""A customer's year: the figures of each unit, and the same added up."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from functools import lru_cache
from hashlib import sha256
from typing import Any

from service.domain.bench.figures import figure
from service.domain.condition.figures import known_of
from service.domain.condition.latest import Worry
from service.domain.condition.worries import unanswered
from service.domain.record.fleet import Customer, Site, Unit
from service.domain.record.part_replaced import PartReplaced
from service.domain.record.unit_log import ReadingTaken, UnitLog
from service.domain.record.visits import Visit
from service.domain.summary import actions, counts, letter, outages, pm, sentences, series
from service.domain.summary.definitions import DEFINITIONS
from service.domain.summary.document import DataState, ServiceSummary, UnitSummary
from service.domain.summary.for_customer import root_causes_for_customer
from service.domain.summary.former_year import FormerYear, year_before
from service.domain.summary.lines import PlanLine, ReadingLine, ReplacementLine, VisitLine
from service.domain.summary.unit_year import UnitYear
from service.domain.summary.window import Window, window_of

DIGEST_LENGTH = 16
UNITS_KEPT = 250


def service_summary(  # noqa: PLR0913 - what it follows from
    customer: Customer,
    years: Sequence[UnitYear],
    year: int,
    *,
    before: Sequence[FormerYear] = (),
    as_of: datetime,
    program_version: str,
    units_shown: str,
) -> ServiceSummary:
    """The whole summary; the same for the same records, `as_of`, version and units of measure.

    `before` is the year before, unit by unit.
    """
    units = [unit_summary(each) for each in years if each.counts]
    whole = widest((each.window for each in years), year, as_of)
    totals, former = _totals(units), year_before(before, year - 1)
    to_do = actions.merged(action for unit in units for action in unit.actions)
    return ServiceSummary(
        customer=customer.code,
        customer_name=customer.name,
        year=year,
        as_of=as_of,
        first_day=whole.first,
        last_day=whole.last,
        plan_from=whole.plan_from,
        plan_to=whole.plan_to,
        data_state=data_state(years, repr((customer.code, customer.name))),
        program_version=program_version,
        units_shown=units_shown,
        headline=letter.headline(
            units, former, to_do, days=(whole.first, whole.last), totals=totals, left=_left(years)
        ),
        done=letter.done(units, year),
        actions=to_do,
        year_before=former,
        **totals,
        units=tuple(units),
        gaps=sentences.gaps_of_all(units, whole, totals["refrigerant"]),
        definitions=DEFINITIONS,
    )


def _left(years: Iterable[UnitYear]) -> set[str]:
    """The units that were no longer the customer's, or in our care, at the end; one that came back is still there."""
    there = [each for each in years if each.counts]
    return {each.log.unit.tag for each in there} - {each.log.unit.tag for each in there if not each.has_left}


def _totals(units: Sequence[UnitSummary]) -> dict[str, Any]:
    """The figures of the units added up."""
    return {
        "visits_by_kind": counts.sum_by_kind([unit.visits_by_kind for unit in units]),
        "time_on_site": counts.sum_time([unit.time_on_site for unit in units]),
        "pm": pm.pm_count(Counter(line.state for unit in units for line in unit.pm_lines)),
        "without_cold_beer": outages.sum_totals([unit.without_cold_beer for unit in units]),
        "replaced": counts.sum_replaced([unit.replaced for unit in units]),
        "refrigerant": counts.refrigerant([move for unit in units for move in unit.refrigerant_moves]),
        "root_causes": counts.root_causes([line for unit in units for line in unit.root_causes]),
    }


class _Same:
    """Parts of a record as one key: equal where each is the very same object, as in a history that is kept."""

    __slots__ = ("parts",)

    def __init__(self, *parts: object) -> None:
        self.parts: Any = parts

    def __hash__(self) -> int:
        return hash(tuple(map(id, self.parts)))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, _Same) or len(other.parts) != len(self.parts):
            return False
        return all(mine is other for mine, other in zip(self.parts, other.parts, strict=True))


@lru_cache(maxsize=UNITS_KEPT)
def unit_summary(year: UnitYear) -> UnitSummary:
    """The figures of one unit; those of the very same year are made once."""
    log, tag = year.log, year.log.unit.tag
    measured = _measured(_Same(log.unit, log.site, *year.visits))
    moves, without = measured["refrigerant_moves"], outages.total(year.outages)
    plan = () if year.moved_out_on else pm.plan(log, year.tasks, year.window, year.due, since=year.moved_in_on)
    shown = {name: measured[name] for name in ("beer", "glycol", "condenser")}
    return UnitSummary(
        **_about(year),
        **{name: value for name, value in measured.items() if name != "worries"},
        visits_by_kind=counts.visits_by_kind(year.visits),
        time_on_site=counts.time_on_site(year.visits),
        pm=pm.pm_count(Counter(line.state for line in year.pm_lines)),
        pm_lines=year.pm_lines,
        outages=year.outages,
        without_cold_beer=without,
        replacements=tuple(_replacement_line(tag, part) for part in year.replaced),
        replaced=counts.replaced(year.replaced),
        refrigerant=counts.refrigerant(moves),
        root_causes=tuple(root_causes_for_customer(year)),
        actions=actions.actions(_found(year, measured["worries"], plan)),
        plan=plan,
        gaps=sentences.gaps(tag, visits=year.visits, found=year.outages, **shown),
        visits=tuple(_visit_line(log, visit) for visit in year.visits),
    )


@lru_cache(maxsize=UNITS_KEPT)
def _measured(of: _Same) -> Mapping[str, Any]:
    """What the visits of a year measured and found at a unit: what does not depend on the day of the letter."""
    unit: Unit = of.parts[0]
    site: Site = of.parts[1]
    visits: Sequence[Visit] = of.parts[2:]
    log = UnitLog(unit=unit, site=site)
    known = known_of(unit, log.elevation)
    by_visit = [series.visit_figures(visit, known) for visit in visits]
    taken = [each for one in by_visit for each in one.readings]
    return {
        "beer": series.before_after(by_visit, "beer_temperature_at_tap"),
        "bath": series.before_after(by_visit, "bath_temperature"),
        "set_point": None if known.set_point is None else figure(known.set_point, "temperature"),
        "glycol": series.glycol(by_visit, known),
        "condenser": series.condenser(by_visit, known),
        "currents": series.currents(taken, known),
        "refrigerant_moves": series.refrigerant_moves(unit.tag, taken),
        "worries": unanswered(log, visits, actions.ADVISING),
        "readings": tuple(_reading_line(unit.tag, each) for each in taken),
    }


def _found(year: UnitYear, worries: Iterable[Worry], plan: Sequence[PlanLine]) -> actions.Found:
    return actions.Found(
        tag=year.log.unit.tag,
        visits=year.visits,
        worries=worries,
        root_causes=[each.line for each in year.root_causes],
        pm_lines=year.pm_lines,
        plan=plan,
        plan_from=year.window.plan_from,
        out=year.has_left,
    )


def _about(year: UnitYear) -> dict[str, Any]:
    """Which unit it is, and where."""
    names = ("tag", "site", "place", "maker", "model", "installed_on")
    site = year.log.site
    return {name: getattr(year.log.unit, name) for name in names} | {
        "retired_on": year.window.by_end(year.log.unit.retired_on),
        "site_name": site.name,
        "time_zone": site.time_zone,
        "moved_in_on": year.moved_in_on,
        "moved_out_on": year.moved_out_on,
    }


def _visit_line(log: UnitLog, visit: Visit) -> VisitLine:
    complaint, seconds = log.complaint_of(visit), counts.seconds_on_site(visit)
    return VisitLine(
        id=visit.id,
        unit=visit.unit,
        on=visit.day,
        arrived_at=visit.arrived_at,
        left_at=visit.left_at,
        kind=visit.kind,
        by=visit.by,
        evidence=visit.evidence,
        technician=visit.technician,
        symptom=complaint.symptom if complaint else None,
        reported_at=complaint.reported_at if complaint else None,
        words=complaint.words if complaint else None,
        work=visit.work,
        advice=visit.advice,
        outcome=visit.outcome,
        time_on_site=None if seconds is None else figure(seconds, "time"),
    )


def _replacement_line(tag: str, part: PartReplaced) -> ReplacementLine:
    return ReplacementLine(
        unit=tag,
        component=part.component,
        kind=part.kind,
        on=part.on,
        reason=part.reason,
        condition=part.condition,
        evidence=part.evidence,
        by=part.by,
        visit=part.visit,
        note=part.note,
        stated=part.stated,
    )


def _reading_line(tag: str, taken: ReadingTaken) -> ReadingLine:
    reading = taken.reading
    return ReadingLine(
        visit=taken.visit,
        unit=tag,
        on=taken.on,
        quantity=reading.quantity,
        component=reading.component,
        tap=reading.tap,
        when=reading.when,
        value=reading.value,
        sample_temperature=reading.sample_temperature,
        evidence=reading.evidence,
        at=reading.at,
    )


def widest(windows: Iterable[Window], year: int, as_of: datetime) -> Window:
    """From the first day of any unit's window to the end of the one that ends last; without any, that of UTC."""
    found = list(windows)
    ends_last = max(found, key=lambda each: (each.last, each.deadline), default=window_of(year, as_of, "UTC"))
    return replace(ends_last, first=min((each.first for each in found), default=ends_last.first))


def data_state(years: Sequence[UnitYear], whose: str) -> DataState:
    """The records up to the period's end; of the SHA-256 the first 16 hexadecimal digits are shown."""
    arrivals = [visit.arrived_at for year in years for visit in year.visits_on_record if visit.day <= year.window.last]
    return DataState(
        visits=len(arrivals),
        units=len(years),
        latest_visit_at=max(arrivals, default=None),
        digest=digest_of([whose, *(year.digest for year in years)]),
    )


def digest_of(parts: Iterable[str]) -> str:
    """A digest over all parts."""
    return sha256("\n".join(parts).encode("utf-8", "surrogatepass")).hexdigest()[:DIGEST_LENGTH]
