"""A service summary: one customer, one year, as values that every rendering tells alike.

Quantities are SI; `units_shown` says in which units the customer reads them. Days are the sites' own. A figure that is
not known is None and a sentence among the gaps says so.
"""

from dataclasses import dataclass
from datetime import date, datetime

from service.domain.bench.figures import figure
from service.domain.quantities import Quantity
from service.domain.summary.lines import (
    FIRST,
    LATE,
    MISSED,
    NEVER,
    ON_TIME,
    PM_STATES,
    Cause,
    KindCount,
    Outage,
    OutageTotal,
    PmCount,
    PmLine,
    ReadingLine,
    Refrigerant,
    RefrigerantMove,
    ReplacementCount,
    ReplacementLine,
    RootCauseCount,
    RootCauseLine,
    TimeOnSite,
    VisitLine,
)

__all__ = [
    "FIRST",
    "LATE",
    "MISSED",
    "NEVER",
    "ON_TIME",
    "PM_STATES",
    "Advice",
    "BeforeAfter",
    "Cause",
    "CondenserPoint",
    "CurrentPoint",
    "DataState",
    "Definition",
    "Gap",
    "GlycolPoint",
    "GlycolYear",
    "Headline",
    "HeadlineFigure",
    "KindCount",
    "Outage",
    "OutageTotal",
    "PlanLine",
    "PmCount",
    "PmLine",
    "ReadingLine",
    "Refrigerant",
    "RefrigerantMove",
    "ReplacementCount",
    "ReplacementLine",
    "RootCauseCount",
    "RootCauseLine",
    "ServiceSummary",
    "TimeOnSite",
    "UnitSummary",
    "VisitLine",
]

NO_TIME = TimeOnSite(visits=0, timed=0, total=figure(0.0, "time"))
NO_REFRIGERANT = Refrigerant()
NO_ROOT_CAUSES = RootCauseCount(total=0, open=0, confirmed=0, dismissed=0, resolved=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class DataState:
    """What the figures rest on: `digest` changes when any visit, unit, site or setting that counts in does."""

    visits: int
    units: int
    latest_visit_at: datetime | None
    digest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadlineFigure:
    """One of the three figures: `value` is what is computed, `told` the same as the customer reads it."""

    code: str
    label: str
    value: float | None
    told: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Headline:
    """The first page's answer: how the year went, three figures, what to do."""

    how_it_went: str
    figures: tuple[HeadlineFigure, ...]
    what_to_do: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeAfter:
    """A temperature as found and as left at one visit; `tap` for beer, None for the bath."""

    visit: str
    on: date
    tap: str | None
    as_found: Quantity | None
    as_left: Quantity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class GlycolPoint:
    """The glycol at one visit: strength by mass, where it freezes, the coldest surface, and the margin between."""

    visit: str
    on: date
    strength: Quantity
    freezing_point: Quantity | None
    coldest: Quantity | None
    coldest_is: str | None
    margin: Quantity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class GlycolYear:
    """The glycol through the year, with the limit for its margin and the strength wanted."""

    points: tuple[GlycolPoint, ...]
    least_margin: Quantity
    least_margin_source: str
    target: Quantity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CondenserPoint:
    """The condenser at one visit: as found (clean, light, heavy, blocked), its split and the limit of that."""

    visit: str
    on: date
    as_found: str | None
    split: Quantity | None
    clean_split: Quantity | None
    split_limit: Quantity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CurrentPoint:
    """A current read on a component, its rating, and the share of it (fraction)."""

    visit: str
    on: date
    component: str
    when: str
    current: Quantity
    rated: Quantity | None
    share: Quantity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What we advise and why; `source` is the visit's own words or where a limit comes from."""

    unit: str
    what: str
    reason: str
    source: str
    on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanLine:
    """A task in the coming year: the days it is due if each is done on its day; the first may be overdue."""

    unit: str
    task: str
    name: str
    due_on: tuple[date, ...]
    overdue: bool
    interval: str | None
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """Something that is not known, in a sentence; `unit` where it concerns one."""

    unit: str | None
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Definition:
    """What a term means in this document."""

    term: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitSummary:
    """The year of one unit. All series are in order of time."""

    tag: str
    site: str
    site_name: str
    time_zone: str
    place: str | None
    maker: str | None
    model: str | None
    installed_on: date | None
    retired_on: date | None
    visits_by_kind: tuple[KindCount, ...]
    time_on_site: TimeOnSite = NO_TIME
    pm: PmCount
    pm_lines: tuple[PmLine, ...]
    outages: tuple[Outage, ...]
    without_cold_beer: OutageTotal
    beer: tuple[BeforeAfter, ...]
    bath: tuple[BeforeAfter, ...]
    replacements: tuple[ReplacementLine, ...]
    replaced: ReplacementCount
    glycol: GlycolYear
    condenser: tuple[CondenserPoint, ...]
    currents: tuple[CurrentPoint, ...]
    refrigerant: Refrigerant
    refrigerant_moves: tuple[RefrigerantMove, ...] = ()
    root_causes: tuple[RootCauseLine, ...] = ()
    advice: tuple[Advice, ...]
    plan: tuple[PlanLine, ...]
    gaps: tuple[Gap, ...]
    visits: tuple[VisitLine, ...]
    readings: tuple[ReadingLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceSummary:
    """One customer's year: `first_day` to `last_day` is what was looked at, and the plan runs `plan_from` to `plan_to`.

    The totals are those of the units added up; `gaps` holds what concerns the whole, each unit its own.
    """

    customer: str
    customer_name: str
    year: int
    as_of: datetime
    first_day: date
    last_day: date
    plan_from: date
    plan_to: date
    data_state: DataState
    program_version: str
    units_shown: str
    headline: Headline
    visits_by_kind: tuple[KindCount, ...]
    pm: PmCount
    without_cold_beer: OutageTotal
    replaced: ReplacementCount
    time_on_site: TimeOnSite = NO_TIME
    refrigerant: Refrigerant = NO_REFRIGERANT
    root_causes: RootCauseCount = NO_ROOT_CAUSES
    units: tuple[UnitSummary, ...]
    gaps: tuple[Gap, ...]
    definitions: tuple[Definition, ...]
