"""What the fleet year keeps of one unit's year: small, so that a fleet of any size is gone through unit by unit."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime

from service.domain.bench.figures import figure
from service.domain.record.failed import FAILED, counted_as, is_failure
from service.domain.record.part_replaced import PartReplaced
from service.domain.record.visits import Visit
from service.domain.summary import counts, outage_totals, pm
from service.domain.summary.fleet_lines import (
    BY_COMPLAINT,
    BY_CONDITION,
    BY_ROOT_CAUSE,
    DecisionLine,
    FleetRootCause,
    UnitLine,
)
from service.domain.summary.life import Life, life_of
from service.domain.summary.lines import MISSED, NEVER, KindCount, OutageTotal, ReplacementCount, RootCauseLine
from service.domain.summary.unit_year import UnitYear
from service.domain.summary.window import ONE_DAY

BY_PART = "part"
REPAIRS = ("service_call", "follow_up")
Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Cost:
    """Visits, those of them to repair, seconds on site as far as recorded, visits whose end is not recorded.

    `repair_seconds` are those of the visits to repair.
    """

    visits: int = 0
    repairs: int = 0
    seconds: float = 0.0
    without_end: int = 0
    repair_seconds: float = 0.0

    def plus(self, other: "Cost") -> "Cost":
        """Both together."""
        return Cost(
            self.visits + other.visits,
            self.repairs + other.repairs,
            self.seconds + other.seconds,
            self.without_end + other.without_end,
            self.repair_seconds + other.repair_seconds,
        )


NOTHING = Cost()


def cost_of(visit: Visit) -> Cost:
    """What one visit takes."""
    seconds = counts.seconds_on_site(visit)
    repairs = visit.kind in REPAIRS
    return Cost(1, int(repairs), seconds or 0.0, int(seconds is None), (seconds or 0.0) * repairs)


def total_cost(costs: Iterable[Cost]) -> Cost:
    """Costs added up."""
    total = NOTHING
    for cost in costs:
        total = total.plus(cost)
    return total


@dataclass(frozen=True, slots=True)
class Event:
    """An item put in while the unit was watched, at an age in days."""

    kind: str
    age: int
    reason: str
    in_year: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FleetUnit:
    """A unit's share. `costs`: by basis and cause, how often it was recorded and what its visits took.

    `months` are those in which we were there. One that does not count in the year counts in what was watched before.
    """

    counts: bool
    line: UnitLine
    site_name: str
    kinds: tuple[str, ...]
    life: Life
    years: float
    years_before: float
    cost: Cost
    visits_by_kind: tuple[KindCount, ...]
    replaced: ReplacementCount
    reasons: Mapping[Key, int]
    tasks: Mapping[tuple[str, str, str], int]
    missed: Mapping[str, int]
    without_cold_beer: OutageTotal
    events: tuple[Event, ...]
    unwatched: int
    costs: Mapping[Key, tuple[int, Cost]]
    root_causes: tuple[FleetRootCause, ...]
    decisions: tuple[DecisionLine, ...]
    months: frozenset[int]
    visits_on_record: int
    latest_visit_at: datetime | None
    digest: str
    parts: tuple["FleetUnit", ...] = ()

    @property
    def by_site(self) -> tuple["FleetUnit", ...]:
        """Its share at each site where it stood."""
        return self.parts or (self,)


def fleet_unit(year: UnitYear) -> FleetUnit:
    """What a unit adds to the fleet year."""
    unit, window, on_record = year.log.unit, year.window, year.replaced_on_record
    life = life_of(unit, year.visits_on_record, window, year.standing.away)
    ours = [visit for visit in year.visits if visit.by == "us"]
    watched = [part for part in on_record if _watches(life, part)]
    cost, without = total_cost(map(cost_of, ours)), outage_totals.total(year.outages)
    by_then = [visit for visit in year.visits_on_record if visit.day <= window.last]
    return FleetUnit(
        counts=year.counts,
        line=_line(year, life, cost, without),
        site_name=year.log.site.name,
        kinds=tuple(dict.fromkeys(part.kind for part in unit.components)),
        life=life,
        years=life.years(window.first, window.last),
        years_before=life.years(date.min, window.first - ONE_DAY),
        cost=cost,
        visits_by_kind=counts.visits_by_kind(year.visits),
        replaced=counts.replaced(year.replaced),
        reasons=Counter((part.kind, counted_as(part)) for part in year.replaced),
        tasks=Counter((line.task, line.name, line.state) for line in year.pm_lines),
        missed=Counter(
            f"{line.due_on:%Y-%m}" for line in year.pm_lines if line.state in (MISSED, NEVER) and line.due_on
        ),
        without_cold_beer=without,
        events=tuple(Event(part.kind, _age(life, part), counted_as(part), window.holds(part.on)) for part in watched),
        unwatched=sum(is_failure(part) and not _watches(life, part) for part in on_record),
        costs=_costs(year, ours),
        root_causes=tuple(_root_cause(each.line) for each in year.root_causes),
        decisions=year.decisions,
        months=frozenset(visit.day.month for visit in ours),
        visits_on_record=len(by_then),
        latest_visit_at=max((visit.arrived_at for visit in by_then), default=None),
        digest=year.digest,
        parts=tuple(map(fleet_unit, year.parts)),
    )


def _watches(life: Life, part: PartReplaced) -> bool:
    """Whether a replacement was made while the unit was watched, whatever its day was."""
    return part.first is not None and life.watches(part.first) and life.watches(part.on)


def _age(life: Life, part: PartReplaced) -> int:
    """The unit's age at a replacement, in the middle of the days possible."""
    return (life.age(part.first or part.on) + life.age(part.on)) // 2


def _line(year: UnitYear, life: Life, cost: Cost, without: OutageTotal) -> UnitLine:
    unit, window = year.log.unit, year.window
    count = pm.pm_count(Counter(line.state for line in year.pm_lines))
    reasons = Counter(map(counted_as, year.replaced))
    age = life.until - life.origin
    return UnitLine(
        unit=unit.tag,
        site=unit.site,
        customer=year.log.site.customer,
        maker=unit.maker,
        model=unit.model,
        installed_on=unit.installed_on,
        retired_on=window.by_end(unit.retired_on),
        age_days=age if unit.installed_on and age >= 0 else None,
        is_new=unit.installed_on is not None and window.holds(unit.installed_on),
        is_retired=unit.retired_on is not None and window.holds(unit.retired_on),
        visits=cost.visits,
        repair_visits=cost.repairs,
        hours_on_site=figure(cost.seconds, "time"),
        hours_to_repair=figure(cost.repair_seconds, "time"),
        visits_without_end=cost.without_end,
        visits_by_others=len(year.visits) - cost.visits,
        failed=reasons[FAILED],
        precaution=reasons["precaution"],
        outages=without.outages,
        without_cold_beer_seen=without.seen,
        without_cold_beer_estimated=without.estimated,
        pm_on_time=count.on_time,
        pm_late=count.late,
        pm_missed=count.missed,
    )


def _root_cause(line: RootCauseLine) -> FleetRootCause:
    """A root cause with its most probable cause, which comes first."""
    names = {field.name for field in fields(FleetRootCause)} - {"cause"}
    return FleetRootCause(cause=line.causes[0].cause, **{name: getattr(line, name) for name in names})


def _costs(year: UnitYear, ours: Sequence[Visit]) -> dict[Key, tuple[int, Cost]]:
    """By part, condition, complaint and root cause; a visit counts once under each, perhaps under several."""
    by_id = {visit.id: visit for visit in ours}
    times: Counter[Key] = Counter()
    at: dict[Key, dict[str, Visit]] = {}

    def count(key: Key, visits: Iterable[Visit]) -> None:
        times[key] += 1
        at.setdefault(key, {}).update({visit.id: visit for visit in visits})

    for part in year.replaced:
        visit = _put_in_at(by_id, part)
        count((BY_PART, part.kind), visit)
        if is_failure(part):
            count((BY_CONDITION, part.condition), visit)
    for each in ours:
        if (complaint := year.log.complaint_of(each)) is not None:
            count((BY_COMPLAINT, complaint.symptom), [each])
    for found in year.root_causes:
        if found.line.state != "dismissed":
            key = (BY_ROOT_CAUSE, found.line.causes[0].cause)
            count(key, [visit for visit in ours if visit.id in found.visits])
    return {key: (times[key], total_cost(map(cost_of, visits.values()))) for key, visits in at.items()}


def _put_in_at(ours: Mapping[str, Visit], part: PartReplaced) -> list[Visit]:
    """Our visit at which an item was put in; none for one that was only reported, of another day or by others."""
    visit = ours.get(part.visit)
    return [visit] if visit is not None and visit.day == part.on and part.exact and part.by == "us" else []
