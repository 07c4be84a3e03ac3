"""The fleet's year for the owner, as values that every rendering tells alike: computed once, unit by unit."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime
from hashlib import sha256

from service.domain.bench.figures import figure
from service.domain.quantities import Quantity
from service.domain.record.fleet import COMPONENT_KINDS
from service.domain.record.visits import KINDS
from service.domain.summary import fleet_costs, fleet_rates, fleet_words
from service.domain.summary.fleet_cases import case_counts
from service.domain.summary.fleet_lines import (
    CaseCount,
    CaseLine,
    CauseLine,
    CostLine,
    Curve,
    KindYear,
    ModelLine,
    PartLine,
    TaskLine,
    UnitLine,
)
from service.domain.summary.fleet_record import FleetUnit, counts_in
from service.domain.summary.fleet_unit import UnitYear, summed, unit_year
from service.domain.summary.records import Window, window_of
from service.domain.summary.summary import (
    DataState,
    Definition,
    Gap,
    Headline,
    KindCount,
    OutageTotal,
    PmCount,
    ReplacementCount,
)

DIGEST_LENGTH = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class FleetYear:
    """All customers' units in one year; `first_day` to `last_day` is what was looked at. Lists are ranked.

    `unvisited`, `new_units` and `retired_units` are tags. Rates are failures per unit-year.
    """

    year: int
    as_of: datetime
    first_day: date
    last_day: date
    data_state: DataState
    program_version: str
    headline: Headline
    units_in_service: int
    unit_years: float
    visits_by_kind: tuple[KindCount, ...]
    repair_visits: int
    hours_on_site: Quantity
    visits_without_end: int
    replaced: ReplacementCount
    pm: PmCount
    without_cold_beer: OutageTotal
    customers: tuple[CostLine, ...]
    sites: tuple[CostLine, ...]
    units: tuple[UnitLine, ...]
    parts: tuple[PartLine, ...]
    causes: tuple[CauseLine, ...]
    tasks: tuple[TaskLine, ...]
    models: tuple[ModelLine, ...]
    kinds: tuple[KindYear, ...]
    curves: tuple[Curve, ...]
    case_counts: tuple[CaseCount, ...]
    cases: tuple[CaseLine, ...]
    unvisited: tuple[str, ...]
    new_units: tuple[str, ...]
    retired_units: tuple[str, ...]
    gaps: tuple[Gap, ...]
    definitions: tuple[Definition, ...]


def fleet_year(
    fleet: Iterable[FleetUnit], year: int, *, as_of: datetime, settings: str, program_version: str
) -> FleetYear:
    """The fleet's year; the same for the same records, `as_of`, settings and version. Units may come in any order."""
    whole, found = window_of(year, as_of, "UTC"), []
    for unit in fleet:
        window = window_of(year, as_of, unit.record.site.time_zone)
        if counts_in(unit.record, window):
            found.append((window, unit_year(unit, window, as_of=as_of)))
    whole = max((window for window, _ in found), key=lambda each: (each.last, each.deadline), default=whole)
    units = sorted((each for _, each in found), key=lambda each: each.line.unit)
    return _told(units, whole, as_of=as_of, settings=settings, program_version=program_version)


def _told(
    units: Sequence[UnitYear], window: Window, *, as_of: datetime, settings: str, program_version: str
) -> FleetYear:
    cost, kinds = summed(unit.cost for unit in units), _kinds(units)
    lines = tuple(fleet_costs.ranked_units(unit.line for unit in units))
    cases = tuple(sorted((case for unit in units for case in unit.cases), key=_by_tier))
    pm, tasks = fleet_costs.pm_total(units), fleet_costs.by_task(units)
    without = fleet_costs.total_without(unit.without_cold_beer for unit in units)
    visits = _visits(units)
    unvisited = tuple(unit.line.unit for unit in units if not unit.line.visits)
    return FleetYear(
        year=window.first.year, as_of=as_of, first_day=window.first, last_day=window.last,
        data_state=_state(units, settings), program_version=program_version,
        headline=fleet_words.headline(
            year=window.first.year, units=lines, visits=visits, repairs=cost.repairs, pm=pm, without=without,
            cases=cases, tasks=tasks, unvisited=len(unvisited),
        ),
        units_in_service=len(units), unit_years=sum(unit.years for unit in units),
        visits_by_kind=visits,
        repair_visits=cost.repairs,
        hours_on_site=figure(cost.seconds, "time"), visits_without_end=cost.without_end,
        replaced=_replaced(units), pm=pm,
        without_cold_beer=without,
        customers=fleet_costs.by_customer(units),
        sites=fleet_costs.by_site(units),
        units=lines,
        parts=fleet_costs.by_part(units, kinds),
        causes=fleet_costs.by_cause(units),
        tasks=tasks,
        models=fleet_rates.by_model(units),
        kinds=fleet_rates.by_kind(units, kinds),
        curves=fleet_rates.curves(units, kinds),
        case_counts=case_counts(cases),
        cases=cases,
        unvisited=unvisited,
        new_units=tuple(unit.line.unit for unit in units if unit.line.is_new),
        retired_units=tuple(unit.line.unit for unit in units if unit.line.is_retired),
        gaps=fleet_words.gaps(units, window),
        definitions=fleet_words.DEFINITIONS,
    )  # fmt: skip


def _kinds(units: Sequence[UnitYear]) -> tuple[str, ...]:
    """The kinds of components in the fleet, in the catalogue's order."""
    there = {kind for unit in units for kind in unit.kinds}
    return tuple(kind for kind in COMPONENT_KINDS if kind in there)


def _visits(units: Sequence[UnitYear]) -> tuple[KindCount, ...]:
    told = [count for unit in units for count in unit.visits_by_kind]
    return tuple(
        KindCount(
            kind=kind,
            ours=sum(count.ours for count in told if count.kind == kind),
            others=sum(count.others for count in told if count.kind == kind),
        )
        for kind in KINDS
    )


def _replaced(units: Sequence[UnitYear]) -> ReplacementCount:
    names = [field.name for field in fields(ReplacementCount)]
    return ReplacementCount(**{name: sum(getattr(unit.replaced, name) for unit in units) for name in names})


def _by_tier(case: CaseLine) -> tuple[float, str, str]:
    """The least likely to be luck first."""
    return case.luck_probability, case.unit, case.kind


def _state(units: Sequence[UnitYear], settings: str) -> DataState:
    """What the figures rest on; SHA-256 over the units' digests, of which the first 16 hexadecimal digits are told."""
    parts = "\n".join([settings, *(unit.digest for unit in units)])
    return DataState(
        visits=sum(unit.visits_on_record for unit in units),
        units=len(units),
        latest_visit_at=max((unit.latest_visit_at for unit in units if unit.latest_visit_at), default=None),
        digest=sha256(parts.encode("utf-8", "surrogatepass")).hexdigest()[:DIGEST_LENGTH],
    )
