"""What one unit adds to the fleet's year: small, so that a fleet of any size is gone through unit by unit."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from hashlib import sha256

from service.domain.bench.figures import figure
from service.domain.instants import local_day
from service.domain.summary import counts, outages, pm
from service.domain.summary.fleet_cases import Suspected, suspected
from service.domain.summary.fleet_lines import BY_COMPLAINT, BY_CONDITION, BY_ROOT_CAUSE, CaseLine, UnitLine
from service.domain.summary.fleet_record import (
    FAILED,
    NOTHING,
    Cost,
    FleetUnit,
    Life,
    cost_of,
    life_of,
    put_in_at,
)
from service.domain.summary.lines import KindCount, OutageTotal, PmLine, ReplacementCount, ReplacementLine, VisitLine
from service.domain.summary.records import UnitRecord, Window

BY_PART = "part"
ONE_DAY = timedelta(days=1)
Told = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Event:
    """An item put in while the unit was watched, at an age in days."""

    kind: str
    age: int
    reason: str
    in_year: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitYear:
    """A unit's share. `costs` tells by (basis, word) how often it was told and what its visits took.

    `months` are those in which we were there.
    """

    line: UnitLine
    site_name: str
    customer_name: str
    kinds: tuple[str, ...]
    life: Life
    years: float
    years_before: float
    cost: Cost
    visits_by_kind: tuple[KindCount, ...]
    replaced: ReplacementCount
    reasons: Mapping[Told, int]
    tasks: Mapping[tuple[str, str, str], int]
    without_cold_beer: OutageTotal
    events: tuple[Event, ...]
    unwatched: int
    costs: Mapping[Told, tuple[int, Cost]]
    cases: tuple[CaseLine, ...]
    months: frozenset[int]
    visits_on_record: int
    latest_visit_at: datetime | None
    digest: str


def unit_year(unit: FleetUnit, window: Window, *, as_of: datetime) -> UnitYear:
    """What a unit adds, from its record up to `as_of`."""
    record, life = unit.record, life_of(unit.record, window)
    visits = {visit.id: visit for visit in record.visits if window.holds(visit.on)}
    ours = [visit for visit in visits.values() if visit.by == "us"]
    replaced = [line for line in record.replacements if window.holds(line.on)]
    pm_lines, without = pm.pm_lines(record, window), outages.total(outages.outages(record, window))
    cost = summed(map(cost_of, ours))
    cases = suspected(record, window, local_day(as_of, record.site.time_zone))
    watched = [line for line in record.replacements if life.watches(line.on)]
    return UnitYear(
        line=_line(
            unit, life, window, cost=cost, visits=len(visits), replaced=replaced, without=without, lines=pm_lines
        ),
        site_name=record.site.name,
        customer_name=unit.customer_name,
        kinds=unit.kinds,
        life=life,
        years=life.years(window.first, window.last),
        years_before=life.years(date.min, window.first - ONE_DAY),
        cost=cost,
        visits_by_kind=counts.visits_by_kind(list(visits.values())),
        replaced=counts.replaced(replaced),
        reasons=Counter((line.kind, line.reason) for line in replaced),
        tasks=Counter((line.task, line.name, line.state) for line in pm_lines),
        without_cold_beer=without,
        events=tuple(Event(r.kind, life.age(r.on), r.reason, window.holds(r.on)) for r in watched),
        unwatched=sum(line.reason == FAILED and not life.watches(line.on) for line in record.replacements),
        costs=_costs(visits, ours, replaced, [case for case in cases if case.line.state != "dismissed"]),
        cases=tuple(case.line for case in cases),
        months=frozenset(visit.on.month for visit in ours),
        visits_on_record=len(record.visits),
        latest_visit_at=max((visit.arrived_at for visit in record.visits), default=None),
        digest=_digest(unit),
    )


def summed(costs: Iterable[Cost]) -> Cost:
    """Costs added up."""
    total = NOTHING
    for cost in costs:
        total = total.plus(cost)
    return total


def _line(  # noqa: PLR0913 - what it tells
    unit: FleetUnit,
    life: Life,
    window: Window,
    *,
    cost: Cost,
    visits: int,
    replaced: Sequence[ReplacementLine],
    without: OutageTotal,
    lines: Sequence[PmLine],
) -> UnitLine:
    known, count = unit.record.unit, pm.pm_count(lines)
    reasons = [line.reason for line in replaced]
    age = life.until - life.origin
    return UnitLine(
        unit=known.tag,
        site=known.site,
        customer=unit.customer,
        maker=known.maker,
        model=known.model,
        installed_on=known.installed_on,
        retired_on=known.retired_on,
        age_days=age if known.installed_on and age >= 0 else None,
        is_new=known.installed_on is not None and window.holds(known.installed_on),
        is_retired=known.retired_on is not None and window.holds(known.retired_on),
        visits=cost.visits,
        repair_visits=cost.repairs,
        hours_on_site=figure(cost.seconds, "time"),
        visits_without_end=cost.without_end,
        visits_by_others=visits - cost.visits,
        failed=reasons.count(FAILED),
        precaution=reasons.count("precaution"),
        outages=without.outages,
        without_cold_beer_at_least=without.at_least,
        without_cold_beer_at_most=without.at_most,
        pm_on_time=count.on_time,
        pm_late=count.late,
        pm_missed=count.missed,
    )


def _costs(
    visits: Mapping[str, VisitLine],
    ours: Sequence[VisitLine],
    replaced: Sequence[ReplacementLine],
    cases: Sequence[Suspected],
) -> dict[Told, tuple[int, Cost]]:
    """By part, condition, complaint and root cause; a visit counts once under a word, maybe under several."""
    times: Counter[Told] = Counter()
    at: dict[Told, dict[str, VisitLine]] = {}
    for line in replaced:
        visit = put_in_at(visits, line)
        told = [(BY_PART, line.kind), *([(BY_CONDITION, line.condition)] if line.reason == FAILED else [])]
        times.update(told)
        for each in told:
            at.setdefault(each, {}).update({visit.id: visit} if visit else {})
    for visit in ours:
        if visit.symptom:
            times[BY_COMPLAINT, visit.symptom] += 1
            at.setdefault((BY_COMPLAINT, visit.symptom), {})[visit.id] = visit
    for case in cases:
        cause = (BY_ROOT_CAUSE, case.line.cause)
        times[cause] += 1
        at.setdefault(cause, {}).update({v.id: v for v in ours if v.id in case.visits})
    return {each: (times[each], summed(map(cost_of, found.values()))) for each, found in at.items()}


def _digest(unit: FleetUnit) -> str:
    """SHA-256 of what of the unit counts in."""
    record: UnitRecord = unit.record
    tasks = [(task.code, str(task.interval), task.applies) for task in record.tasks]
    former = [
        (code, day, str(task.interval), task.applies) for code, told in record.former.items() for day, task in told
    ]
    cases = [(case.kind, case.version) for case in record.cases]
    places = (record.unit.tag, record.unit.version, record.site.code, record.site.version, unit.customer)
    parts = repr((places, record.site.name, unit.customer_name, tasks, former, record.versions, cases))
    return sha256(parts.encode("utf-8", "surrogatepass")).hexdigest()
