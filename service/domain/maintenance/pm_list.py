"""The day's work: calls, due items and root causes, one stop for each site; `list_order` has their order."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any, NamedTuple

from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.due import FOLLOW_UP
from service.domain.maintenance.list_order import CALL, CLASSES, ROOT_CAUSE, Entry, ordinal
from service.domain.maintenance.tasks import COMMON_PRACTICE, Task
from service.domain.record.company import NO_LETTERHEAD, Letterhead
from service.domain.root_causes.life_cycle import RootCauseCheck

STATUSES = ("overdue", "due_today", "due_soon", "scheduled")
SOON_DAYS = 7  # what counts as due soon where nobody named a horizon
FOLLOW_UP_TASK = next(task for task in CATALOGUE if task.code == FOLLOW_UP)
# What else stands on the list: no PM, so neither an interval nor settings.
OTHER_WORK = (
    Task(
        code=CALL,
        name="Service call",
        interval=None,
        shortest=None,
        longest=None,
        minutes=60,
        bring=FOLLOW_UP_TASK.bring,
        cautions=FOLLOW_UP_TASK.cautions,
        source=f"Minutes: {COMMON_PRACTICE}.",
    ),
    Task(
        code=ROOT_CAUSE,
        name="Root cause check",
        interval=None,
        shortest=None,
        longest=None,
        minutes=30,
        bring=(),
        cautions=FOLLOW_UP_TASK.cautions,
        source=f"Minutes: {COMMON_PRACTICE}.",
    ),
)


class DueRow(NamedTuple):
    """One item with the facts about its unit and site, as stored.

    `own` is the unit's own setting for the task, as JSON text; `work` is the item's class. A call has its id in `call`;
    its unit and site are empty where they are not known. `assigned_day` is the day to which it is assigned; a
    root cause has the `kind` of component that fails.
    """

    due_on: str
    task: str
    basis: str
    why: str
    interval: str | None
    last_done_on: str | None
    unit: str
    place: str | None
    maker: str | None
    model: str | None
    site: str
    site_name: str
    address: str | None
    access: str | None
    time_zone: str
    latitude: float | None
    longitude: float | None
    customer: str
    customer_name: str
    phone: str | None
    technician: str | None
    site_id: int
    unit_id: int
    own: str | None = None
    work: str = "pm"
    call: str | None = None
    includes: tuple[str, ...] = ()
    assigned_day: str | None = None
    kind: str | None = None


class UnitFacts(NamedTuple):
    """What a row has of its unit and site, in the order of the row."""

    unit: str
    place: str | None
    maker: str | None
    model: str | None
    site: str
    site_name: str
    address: str | None
    access: str | None
    time_zone: str
    latitude: float | None
    longitude: float | None
    customer: str
    customer_name: str
    phone: str | None
    technician: str | None
    site_id: int
    unit_id: int

    def at(self, of_site: Sequence[Any]) -> "UnitFacts":
        """The unit at another site, whose facts and identity these are."""
        return UnitFacts._make((self.unit, self.place, self.maker, self.model, *of_site, self.unit_id))


@dataclass(frozen=True, slots=True)
class StopTimes:
    """When a stop of a day that was laid out begins and ends, and the travel to it [min]."""

    arrives_at: datetime
    leaves_at: datetime
    travel_minutes: int


@dataclass(frozen=True, slots=True)
class Stop:
    """One site with its items, the worst first; `today` is the site's own date.

    Of a day that was laid out it has times; `forward` has by unit and task why an item is done ahead of its date, and
    `left` why all of it is left over.
    """

    today: date
    rows: tuple[DueRow, ...]
    times: StopTimes | None = None
    forward: Mapping[tuple[str, str], str] = field(default_factory=dict)
    left: str = ""

    @property
    def site(self) -> DueRow:
        """The site's facts; every row has them."""
        return self.rows[0]

    @property
    def work(self) -> str:
        """The class of the worst item."""
        return min({row.work for row in self.rows}, key=CLASSES.index)


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """The size of a PM list: items by status, stops, and working time [min] without travel."""

    overdue: int
    due_today: int
    due_soon: int
    scheduled: int = 0
    stops: int
    minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Driver:
    """A technician's day: its beginning and end, work and travel [min], and the sites that were visited before."""

    technician: str
    time_zone: str
    starts_at: datetime
    ends_at: datetime
    work_minutes: int
    travel_minutes: int
    done: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LeftOver:
    """An item that does not fit into the day, why, and what that risks."""

    row: DueRow
    reason: str
    risk: str


@dataclass(frozen=True, slots=True)
class Day:
    """A day that was laid out: by technician, what is left over, and what was assumed."""

    day: date
    drivers: tuple[Driver, ...]
    left_over: tuple[LeftOver, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PmList:
    """Stops, what is most at stake first. `tasks[code, unit tag]` overrides `tasks[code, ""]`, the catalogue's task.

    `root_causes` holds by unit tag the root causes to check while there. `whole` is the size of the list of
    which this is a page; None where these stops are all of it. `technicians` are their names by code. `day` is there
    where the stops are in the order in which they are driven to.
    """

    horizon_days: int
    stops: tuple[Stop, ...]
    tasks: Mapping[tuple[str, str], Task]
    whole: Counts | None = None
    next: str | None = None
    root_causes: Mapping[str, tuple[RootCauseCheck, ...]] = field(default_factory=dict)
    company: Letterhead = NO_LETTERHEAD
    technicians: Mapping[str, str] = field(default_factory=dict)
    day: Day | None = None

    def task(self, row: DueRow) -> Task:
        """The task as it applies at the row's unit."""
        return self.tasks.get((row.task, row.unit)) or self.tasks[row.task, ""]

    def root_causes_at(self, stop: Stop) -> tuple[RootCauseCheck, ...]:
        """The root causes to check at a stop, by unit."""
        if not self.root_causes:
            return ()
        return tuple(
            each for unit in dict.fromkeys(row.unit for row in stop.rows) for each in self.root_causes.get(unit, ())
        )


def with_left_over(pm_list: PmList) -> PmList:
    """The list with what is left over of a day as stops at its end."""
    if pm_list.day is None:
        return pm_list
    found: dict[tuple[int, str], list[LeftOver]] = {}
    for each in pm_list.day.left_over:
        found.setdefault((each.row.site_id, each.reason), []).append(each)
    today = next((stop.today for stop in pm_list.stops), pm_list.day.day)
    more = (
        Stop(today, tuple(each.row for each in group), left=" ".join((reason, *_risks(group))))
        for (_, reason), group in found.items()
    )
    return replace(pm_list, stops=(*pm_list.stops, *more))


def _risks(group: Iterable[LeftOver]) -> Iterable[str]:
    """What it means beyond a later date that these are left over."""
    return dict.fromkeys(each.risk for each in group if each.row.work != "pm")


def count(stops: Sequence[Sequence[Entry]], today_at: Mapping[int, date], horizon_days: int) -> Counts:
    """The size of a list; `today_at` is the date at each site."""
    found = dict.fromkeys(STATUSES, 0)
    minutes_in_all = 0
    for stop in stops:
        today = today_at[stop[0].site_id].toordinal()
        for entry in stop:
            found[status(today - ordinal(entry.due_on), horizon_days)] += 1
            minutes_in_all += entry.minutes
    return Counts(**found, stops=len(stops), minutes=minutes_in_all)


def days_overdue(row: DueRow, today: date) -> int:
    """Days since the item fell due [d]; negative while it lies ahead."""
    return today.toordinal() - ordinal(row.due_on)


def status(overdue: int, horizon_days: int = SOON_DAYS) -> str:
    """The status for this many days overdue: due soon within the horizon, scheduled beyond it.

    >>> [status(days, 7) for days in (1, 0, -7, -8)]
    ['overdue', 'due_today', 'due_soon', 'scheduled']
    """
    if overdue > 0:
        return "overdue"
    if overdue == 0:
        return "due_today"
    return "due_soon" if -overdue <= horizon_days else "scheduled"


def size_of(pm_list: PmList) -> Counts:
    """The size of the whole list."""
    if pm_list.whole is not None:
        return pm_list.whole
    statuses = [
        status(days_overdue(row, stop.today), pm_list.horizon_days) for stop in pm_list.stops for row in stop.rows
    ]
    return Counts(
        **{name: statuses.count(name) for name in STATUSES},
        stops=len(pm_list.stops),
        minutes=sum(minutes(pm_list, stop.rows) for stop in pm_list.stops),
    )


def minutes(pm_list: PmList, rows: Sequence[DueRow]) -> int:
    """Working time of these items [min], travel not counted."""
    return sum(pm_list.task(row).minutes for row in rows)
