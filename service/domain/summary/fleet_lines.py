"""The rows of the fleet year."""

from dataclasses import dataclass
from datetime import date

from service.domain.quantities import Quantity

MORE, FEWER, ALIKE, TOO_FEW = "more", "fewer", "no difference beyond chance", "too few to judge"
BY_ROOT_CAUSE, BY_CONDITION, BY_COMPLAINT = "root_cause", "condition", "complaint"
FAILED_ONLY, ALL_REASONS = "failed", "all"


@dataclass(frozen=True, slots=True, kw_only=True)
class CostLine:
    """What one customer or site took of the year: our visits, those among them to repair, and the hours on site."""

    code: str
    name: str
    customer: str
    units: int
    visits: int
    repair_visits: int
    hours_on_site: Quantity
    hours_to_repair: Quantity
    visits_without_end: int
    visits_by_others: int
    failed: int
    outages: int
    without_cold_beer_seen: Quantity
    without_cold_beer_estimated: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitLine:
    """What one unit took of the year, and how its PM went; `age_days` at the end of the period."""

    unit: str
    site: str
    customer: str
    maker: str | None
    model: str | None
    installed_on: date | None
    retired_on: date | None
    age_days: int | None
    is_new: bool
    is_retired: bool
    visits: int
    repair_visits: int
    hours_on_site: Quantity
    hours_to_repair: Quantity
    visits_without_end: int
    visits_by_others: int
    failed: int
    precaution: int
    outages: int
    without_cold_beer_seen: Quantity
    without_cold_beer_estimated: Quantity
    pm_on_time: int
    pm_late: int
    pm_missed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLine:
    """What one kind of component took of the year: replacements by reason, and the visits at which one was put in."""

    kind: str
    units: int
    failed: int
    precaution: int
    upgrade: int
    unknown: int
    visits: int
    repair_visits: int
    hours_on_site: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class CauseLine:
    """What one cause took of the year; `basis` is root_cause, condition or complaint, `times` how often it occurred."""

    basis: str
    cause: str
    times: int
    visits: int
    repair_visits: int
    hours_on_site: Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthLine:
    """A month and how many tasks were due in it and had not been done by the end of the period."""

    month: str
    missed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskLine:
    """The PM of one task over the fleet; the share is of those judged (0 to 1)."""

    task: str
    name: str
    on_time: int
    late: int
    missed: int
    first: int
    never_recorded: int
    share_on_time: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelLine:
    """Failures per unit-year of one model, or of one maker's units in all, with the exact limits at 95 %."""

    maker: str
    model: str | None
    units: int
    unit_years: float
    failed: int
    rate: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class KindYear:
    """Failures of one kind of component this year against the fleet's record before; rates per unit-year.

    `chance` is the probability of counts so unlike at one rate, None where there is nothing to compare.
    """

    kind: str
    units: int
    failed: int
    unit_years: float
    rate: float | None
    low: float | None
    high: float | None
    failed_before: int
    unit_years_before: float
    rate_before: float | None
    low_before: float | None
    high_before: float | None
    chance: float | None
    verdict: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveStep:
    """At this age so many units were watched; the mean number per unit so far, with its limits at 95 %."""

    age_days: int
    watched: int
    mean: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """The mean cumulative number of replacements of one kind per unit, over the unit's age.

    `reason` is failed, or all. The curve begins at 0 `after_days` and ends at `until_days`; `outside` were replaced at
    other ages.
    """

    kind: str
    reason: str
    units: int
    after_days: int
    until_days: int
    events: int
    outside: int
    steps: tuple[CurveStep, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FleetRootCause:
    """A root cause with its most probable cause, what was decided on it, and whether the remedy worked."""

    unit: str
    kind: str
    tier: str
    state: str
    cause: str
    probability_of_chance: float
    first_seen_on: date
    decided_by: str | None
    why: str | None
    resolved_on: date | None
    failed_before: int | None
    years_before: float | None
    failed_after: int | None
    years_after: float | None
    chance: float | None
    verdict: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DecisionLine:
    """What was decided on a root cause in the year before, and what came of it by the end of the period.

    `came_of_it` is failed_again or quiet. `chance` is the probability of so many failures up to the day of the decision
    at one and the same rate before and after it; `verdict` is for a remedy alone.
    """

    unit: str
    kind: str
    cause: str
    decided: str
    decided_on: date
    decided_by: str
    why: str | None
    failed_before: int
    years_before: float
    failed_since: int
    years_since: float
    last_failed_on: date | None
    came_of_it: str
    chance: float | None
    verdict: str | None
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RootCauseTier:
    """How many root causes of one tier are in each state."""

    tier: str
    open: int
    confirmed: int
    dismissed: int
    resolved: int
