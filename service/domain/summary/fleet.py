"""The fleet year for the owner, as values that every format shows: computed once, unit by unit."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from service.domain.bench.figures import figure
from service.domain.quantities import Quantity
from service.domain.record.fleet import COMPONENT_KINDS
from service.domain.root_causes.found import TIERS
from service.domain.summary import counts, fleet_costs, fleet_rates, fleet_sentences, outage_totals
from service.domain.summary.customer import digest_of, widest
from service.domain.summary.document import DataState, Definition, Gap, Headline
from service.domain.summary.fleet_lines import (
    CauseLine,
    CostLine,
    Curve,
    DecisionLine,
    FleetRootCause,
    KindYear,
    ModelLine,
    MonthLine,
    PartLine,
    RootCauseTier,
    TaskLine,
    UnitLine,
)
from service.domain.summary.fleet_unit import FleetUnit, fleet_unit, total_cost
from service.domain.summary.lines import KindCount, OutageTotal, PmCount, ReplacementCount
from service.domain.summary.unit_year import UnitYear
from service.domain.summary.window import Window


@dataclass(frozen=True, slots=True, kw_only=True)
class FleetYear:
    """All customers' units in one year, the period `first_day` to `last_day`. Lists are ranked.

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
    missed: tuple[MonthLine, ...]
    models: tuple[ModelLine, ...]
    kinds: tuple[KindYear, ...]
    curves: tuple[Curve, ...]
    root_cause_tiers: tuple[RootCauseTier, ...]
    root_causes: tuple[FleetRootCause, ...]
    decisions: tuple[DecisionLine, ...]
    unvisited: tuple[str, ...]
    new_units: tuple[str, ...]
    retired_units: tuple[str, ...]
    gaps: tuple[Gap, ...]
    definitions: tuple[Definition, ...]


def fleet_year(
    years: Iterable[UnitYear],
    names: Mapping[str, str],
    year: int,
    *,
    as_of: datetime,
    settings: str,
    program_version: str,
) -> FleetYear:
    """The fleet year; the same for the same records, `as_of`, settings and version. Units may come in any order.

    `names` are the customers' names by code. Of each unit's year only a small part is kept.
    """
    found = [(each.window, fleet_unit(each)) for each in years]
    window = widest((each for each, unit in found if unit.counts), year, as_of)
    on_record = sorted((unit for _, unit in found), key=lambda unit: unit.line.unit)
    return _year(on_record, names, window, as_of=as_of, settings=settings, program_version=program_version)


def _year(
    on_record: Sequence[FleetUnit],
    names: Mapping[str, str],
    window: Window,
    *,
    as_of: datetime,
    settings: str,
    program_version: str,
) -> FleetYear:
    units = [unit for unit in on_record if unit.counts]
    cost, kinds = total_cost(unit.cost for unit in units), _kinds(units)
    lines = tuple(fleet_costs.ranked_units(unit.line for unit in units))
    root_causes = tuple(sorted((each for unit in units for each in unit.root_causes), key=_by_chance))
    pm, tasks = fleet_costs.pm_total(units), fleet_costs.by_task(units)
    without = outage_totals.sum_totals([unit.without_cold_beer for unit in units])
    visits = counts.sum_by_kind([unit.visits_by_kind for unit in units])
    unvisited = tuple(unit.line.unit for unit in units if not unit.line.visits)
    return FleetYear(
        year=window.first.year, as_of=as_of, first_day=window.first, last_day=window.last,
        data_state=_state(units, names, settings), program_version=program_version,
        headline=fleet_sentences.headline(
            year=window.first.year, units=lines, visits=visits, repairs=cost.repairs, pm=pm, without=without,
            root_causes=root_causes, tasks=tasks, unvisited=len(unvisited),
        ),
        units_in_service=len(units), unit_years=sum(unit.years for unit in units),
        visits_by_kind=visits, repair_visits=cost.repairs,
        hours_on_site=figure(cost.seconds, "time"), visits_without_end=cost.without_end,
        replaced=counts.sum_replaced([unit.replaced for unit in units]), pm=pm, without_cold_beer=without,
        customers=fleet_costs.by_customer(units, names), sites=fleet_costs.by_site(units), units=lines,
        parts=fleet_costs.by_part(units, kinds), causes=fleet_costs.by_cause(units), tasks=tasks,
        missed=fleet_costs.by_month(units),
        models=fleet_rates.by_model(units), kinds=fleet_rates.by_kind(on_record, kinds),
        curves=fleet_rates.curves(on_record, kinds),
        root_cause_tiers=_tiers(root_causes), root_causes=root_causes,
        decisions=tuple(sorted((each for unit in on_record for each in unit.decisions), key=_by_failures)),
        unvisited=unvisited,
        new_units=tuple(unit.line.unit for unit in units if unit.line.is_new),
        retired_units=tuple(unit.line.unit for unit in units if unit.line.is_retired),
        gaps=fleet_sentences.gaps(units, window), definitions=fleet_sentences.DEFINITIONS,
    )  # fmt: skip


def _kinds(units: Sequence[FleetUnit]) -> tuple[str, ...]:
    """The kinds of components in the fleet, in the catalogue's order."""
    there = {kind for unit in units for kind in unit.kinds}
    return tuple(kind for kind in COMPONENT_KINDS if kind in there)


def _by_chance(found: FleetRootCause) -> tuple[float, str, str]:
    """The least probable by chance first."""
    return found.probability_of_chance, found.unit, found.kind


def _by_failures(made: DecisionLine) -> tuple[int, str, str]:
    """What failed most often since comes first."""
    return -made.failed_since, made.unit, made.kind


def _tiers(root_causes: Sequence[FleetRootCause]) -> tuple[RootCauseTier, ...]:
    """How many of each tier are in each state."""
    count = Counter((each.tier, each.state) for each in root_causes)
    return tuple(
        RootCauseTier(
            tier=tier,
            open=count[tier, "open"],
            confirmed=count[tier, "confirmed"],
            dismissed=count[tier, "dismissed"],
            resolved=count[tier, "resolved"],
        )
        for tier in TIERS
    )


def _state(units: Sequence[FleetUnit], names: Mapping[str, str], settings: str) -> DataState:
    """What the figures rest on."""
    customers = sorted({unit.line.customer for unit in units})
    return DataState(
        visits=sum(unit.visits_on_record for unit in units),
        units=len(units),
        latest_visit_at=max((unit.latest_visit_at for unit in units if unit.latest_visit_at), default=None),
        digest=digest_of([settings, *(names[code] for code in customers), *(unit.digest for unit in units)]),
    )
