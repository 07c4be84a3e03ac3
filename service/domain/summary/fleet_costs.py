"""What the year took: by customer, site, kind of component, cause and task."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence

from service.domain.bench.figures import figure
from service.domain.summary.fleet_lines import (
    BY_COMPLAINT,
    BY_CONDITION,
    BY_ROOT_CAUSE,
    CauseLine,
    CostLine,
    MonthLine,
    PartLine,
    TaskLine,
    UnitLine,
)
from service.domain.summary.fleet_unit import BY_PART, NOTHING, Cost, FleetUnit, total_cost
from service.domain.summary.lines import PM_STATES, PmCount
from service.domain.summary.outage_totals import sum_totals
from service.domain.summary.pm import pm_count

Key = Callable[[FleetUnit], tuple[str, str]]


def ranked_units(lines: Iterable[UnitLine]) -> list[UnitLine]:
    """Most hours to repair first, then most repair visits, most hours on site, most visits."""
    return sorted(lines, key=lambda each: (*_weight(each), each.unit))


def _weight(line: CostLine | UnitLine) -> tuple[float, ...]:
    return -line.hours_to_repair.value, -line.repair_visits, -line.hours_on_site.value, -line.visits


def by_customer(units: Sequence[FleetUnit], names: Mapping[str, str]) -> tuple[CostLine, ...]:
    """What each customer took; `names` by code."""
    return _lines(units, lambda unit: (unit.line.customer, names[unit.line.customer]))


def by_site(units: Sequence[FleetUnit]) -> tuple[CostLine, ...]:
    """What each site took."""
    return _lines(units, lambda unit: (unit.line.site, unit.site_name))


def _lines(units: Sequence[FleetUnit], key: Key) -> tuple[CostLine, ...]:
    groups: dict[tuple[str, str], list[FleetUnit]] = {}
    for part in (part for unit in units for part in unit.by_site):
        groups.setdefault(key(part), []).append(part)
    lines = [_cost_line(code, name, group) for (code, name), group in groups.items()]
    return tuple(sorted(lines, key=lambda each: (*_weight(each), each.code)))


def _cost_line(code: str, name: str, units: Sequence[FleetUnit]) -> CostLine:
    cost, without = total_cost(unit.cost for unit in units), sum_totals([unit.without_cold_beer for unit in units])
    return CostLine(
        code=code,
        name=name,
        customer=units[0].line.customer,
        units=len({unit.line.unit for unit in units}),
        visits=cost.visits,
        repair_visits=cost.repairs,
        hours_on_site=figure(cost.seconds, "time"),
        hours_to_repair=figure(cost.repair_seconds, "time"),
        visits_without_end=cost.without_end,
        visits_by_others=sum(unit.line.visits_by_others for unit in units),
        failed=sum(unit.line.failed for unit in units),
        outages=without.outages,
        without_cold_beer_seen=without.seen,
        without_cold_beer_estimated=without.estimated,
    )


def by_part(units: Sequence[FleetUnit], kinds: Sequence[str]) -> tuple[PartLine, ...]:
    """What each kind of component took, most repair visits first."""
    costs, reasons = costs_by(units, BY_PART), Counter[tuple[str, str]]()
    for unit in units:
        reasons.update(unit.reasons)
    lines = [_part_line(kind, units, reasons, costs.get(kind, (0, NOTHING))[1]) for kind in kinds]
    return tuple(sorted(lines, key=lambda each: (-each.repair_visits, -each.visits, -each.failed, each.kind)))


def _part_line(kind: str, units: Iterable[FleetUnit], reasons: Mapping[tuple[str, str], int], cost: Cost) -> PartLine:
    return PartLine(
        kind=kind,
        units=sum(kind in unit.kinds for unit in units),
        failed=reasons.get((kind, "failed"), 0),
        precaution=reasons.get((kind, "precaution"), 0),
        upgrade=reasons.get((kind, "upgrade"), 0),
        unknown=reasons.get((kind, "unknown"), 0),
        visits=cost.visits,
        repair_visits=cost.repairs,
        hours_on_site=figure(cost.seconds, "time"),
    )


def by_cause(units: Sequence[FleetUnit]) -> tuple[CauseLine, ...]:
    """What each cause took: root causes first, then conditions found, then complaints."""
    return tuple(
        line for basis in (BY_ROOT_CAUSE, BY_CONDITION, BY_COMPLAINT) for line in _causes(basis, costs_by(units, basis))
    )


def _causes(basis: str, costs: Mapping[str, tuple[int, Cost]]) -> list[CauseLine]:
    lines = [
        CauseLine(
            basis=basis,
            cause=cause,
            times=times,
            visits=cost.visits,
            repair_visits=cost.repairs,
            hours_on_site=figure(cost.seconds, "time"),
        )
        for cause, (times, cost) in costs.items()
    ]
    return sorted(lines, key=lambda each: (-each.repair_visits, -each.visits, -each.times, each.cause))


def costs_by(units: Iterable[FleetUnit], basis: str) -> dict[str, tuple[int, Cost]]:
    """How often each cause of a basis is recorded, and what its visits took."""
    found: dict[str, tuple[int, Cost]] = {}
    for unit in units:
        for (of, cause), (times, cost) in unit.costs.items():
            if of == basis:
                former = found.get(cause, (0, NOTHING))
                found[cause] = (former[0] + times, former[1].plus(cost))
    return found


def by_task(units: Iterable[FleetUnit]) -> tuple[TaskLine, ...]:
    """The PM of each task, the most missed first."""
    states: Counter[tuple[str, str, str]] = Counter()
    for unit in units:
        states.update(unit.tasks)
    names = {(task, name) for task, name, _ in states}
    lines = [_task_line(task, name, states) for task, name in names]
    return tuple(sorted(lines, key=lambda each: (-each.missed, -each.late, each.task)))


def _task_line(task: str, name: str, states: Mapping[tuple[str, str, str], int]) -> TaskLine:
    count = pm_count({state: states.get((task, name, state), 0) for state in PM_STATES})
    return TaskLine(
        task=task,
        name=name,
        on_time=count.on_time,
        late=count.late,
        missed=count.missed,
        first=count.first,
        never_recorded=count.never_recorded,
        share_on_time=count.share_on_time,
    )


def by_month(units: Iterable[FleetUnit]) -> tuple[MonthLine, ...]:
    """What was missed, by the month in which it was due."""
    missed: Counter[str] = Counter()
    for unit in units:
        missed.update(unit.missed)
    return tuple(MonthLine(month=month, missed=count) for month, count in sorted(missed.items()))


def pm_total(units: Iterable[FleetUnit]) -> PmCount:
    """The PM of the fleet."""
    states: Counter[str] = Counter()
    for unit in units:
        for (_, _, state), times in unit.tasks.items():
            states[state] += times
    return pm_count(states)
