"""The service summary: one customer, one year, as values that every format shows.

Quantities are SI; `units_shown` says in which units the customer reads them. Days are the sites' own. A figure that is
not known is None, and a sentence among the gaps says so.
"""

from dataclasses import dataclass
from datetime import date, datetime

from service.domain.bench.figures import figure
from service.domain.quantities import Quantity
from service.domain.record.company import NO_LETTERHEAD, Letterhead
from service.domain.summary.letter_lines import Action, CustomerRootCause, YearBefore
from service.domain.summary.lines import (
    DaysOut,
    KindCount,
    Outage,
    OutageTotal,
    PlanLine,
    PmCount,
    PmLine,
    ReadingLine,
    Refrigerant,
    RefrigerantMove,
    ReplacementCount,
    ReplacementLine,
    RootCauseCount,
    TimeOnSite,
    VisitLine,
)
from service.domain.summary.measured import BeforeAfter, CondenserPoint, CurrentPoint, GlycolYear

NO_TIME = TimeOnSite(visits=0, timed=0, total=figure(0.0, "time"))
NO_REFRIGERANT = Refrigerant()
NO_ROOT_CAUSES = RootCauseCount(total=0, open=0, confirmed=0, dismissed=0, resolved=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class DataState:
    """The records behind the figures: `digest` changes with every visit, unit, site or setting that counts."""

    visits: int
    units: int
    latest_visit_at: datetime | None
    digest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadlineFigure:
    """One of the headline's figures: `value` as computed, `text` as people read it, `more` what stands below it."""

    code: str
    label: str
    value: float | None
    text: str
    more: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Headline:
    """The first page: how the year went, a few figures, what to do."""

    how_it_went: str
    figures: tuple[HeadlineFigure, ...]
    what_to_do: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedOut:
    """A document of this year that was handed out, by the instant; `differs` where the data have changed since."""

    id: str
    issued_at: datetime
    form: str
    differs: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """Something that is not known, in a sentence; `unit` where it is about one."""

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
    moved_in_on: date | None = None
    moved_out_on: date | None = None
    out_of_service: tuple[DaysOut, ...] = ()
    visits_by_kind: tuple[KindCount, ...]
    time_on_site: TimeOnSite = NO_TIME
    pm: PmCount
    pm_lines: tuple[PmLine, ...]
    outages: tuple[Outage, ...]
    without_cold_beer: OutageTotal
    beer: tuple[BeforeAfter, ...]
    bath: tuple[BeforeAfter, ...]
    set_point: Quantity | None = None
    replacements: tuple[ReplacementLine, ...]
    replaced: ReplacementCount
    glycol: GlycolYear
    condenser: tuple[CondenserPoint, ...]
    currents: tuple[CurrentPoint, ...]
    refrigerant: Refrigerant
    refrigerant_moves: tuple[RefrigerantMove, ...] = ()
    root_causes: tuple[CustomerRootCause, ...] = ()
    actions: tuple[Action, ...]
    plan: tuple[PlanLine, ...]
    gaps: tuple[Gap, ...]
    visits: tuple[VisitLine, ...]
    readings: tuple[ReadingLine, ...]

    @property
    def days(self) -> tuple[tuple[str, date | None], ...]:
        """The days of its life in this document, with their names."""
        return (
            ("installed", self.installed_on),
            ("retired", self.retired_on),
            ("moved in", self.moved_in_on),
            ("moved out", self.moved_out_on),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ServiceSummary:
    """One customer's year: the period is `first_day` to `last_day`, and the plan runs from `plan_from` to `plan_to`.

    `company` and `technician`, who came most often, are printed as they stand now. `done` is what we did, `actions` are
    what the customer decides and what we will do. The totals are those of the units added up; `gaps` are those of the
    whole, each unit has its own.
    """

    company: Letterhead = NO_LETTERHEAD
    technician: str | None = None
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
    done: tuple[str, ...] = ()
    actions: tuple[Action, ...] = ()
    year_before: YearBefore | None = None
    handed_out: tuple[HandedOut, ...] = ()
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
