"""The day's work: calls, due items and root causes in the order of what is at stake, one stop for each site.

The order of the classes: a unit that is down, an open call, parts that should be there, a unit to be followed up, a
root cause that can hurt somebody, then PM. A stop has the class of its worst item.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.due import FOLLOW_UP
from service.domain.maintenance.tasks import COMMON_PRACTICE, Task, parse_interval
from service.domain.record.calls import URGENCIES
from service.domain.root_causes.life_cycle import RootCauseCheck

CLASSES = ("down", "call", "parts", "follow_up", "root_cause", "pm")
STATUSES = ("overdue", "due_today", "due_soon", "scheduled")
SOON_DAYS = 7  # what counts as due soon where nobody named a horizon
CALL, ROOT_CAUSE = "call", "root_cause"
OF_OUTCOME = {"down": "down", "waiting_for_parts": "parts"}  # the class of a follow-up by the outcome that it follows
NOT_DUE = 10.0  # added to the urgency of what is not yet due
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
CONTAINING: Mapping[str, tuple[str, ...]] = {task.code: task.also_by for task in CATALOGUE if task.also_by}
CONTAINED = frozenset((*CONTAINING, FOLLOW_UP))
URGENCY: Mapping[str, int] = {task.code: task.urgency for task in CATALOGUE}
Key = tuple[int, float, float, str]


class DueRow(NamedTuple):
    """One item with the facts about its unit and site, as stored.

    `own` is the unit's own setting for the task, as JSON text; `work` is the item's class. A call has its id in `call`;
    its unit and site are empty where they are not known.
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


class Entry(NamedTuple):
    """An item as the order needs it. Of a call, `item` is its id; else it is the task.

    `key` orders the list; `technician_id` is who usually serves the site, or goes there. `includes` are tasks that are
    done with this one and not listed apart.
    """

    site_id: int
    unit_id: int
    item: str
    key: Key
    due_on: str
    minutes: int
    work: str
    zone: str
    technician_id: int | None = None
    includes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Stop:
    """One site with its items, the worst first; `today` is the site's own date."""

    today: date
    rows: tuple[DueRow, ...]

    @property
    def site(self) -> DueRow:
        """The site's facts; every row has them."""
        return self.rows[0]

    @property
    def work(self) -> str:
        """The class of the worst item."""
        return min((row.work for row in self.rows), key=CLASSES.index)


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """The size of a PM list: items by status, stops, and working time [min] without travel."""

    overdue: int
    due_today: int
    due_soon: int
    scheduled: int = 0
    stops: int
    minutes: int


@dataclass(frozen=True, slots=True)
class PmList:
    """Stops, what is most at stake first. `tasks[code, unit tag]` overrides `tasks[code, ""]`, the catalogue's task.

    `root_causes` holds by unit tag the root causes to check while there. `whole` is the size of the list of
    which this is a page; None where these stops are all of it.
    """

    horizon_days: int
    stops: tuple[Stop, ...]
    tasks: Mapping[tuple[str, str], Task]
    whole: Counts | None = None
    next: str | None = None
    root_causes: Mapping[str, tuple[RootCauseCheck, ...]] = field(default_factory=dict)

    def task(self, row: DueRow) -> Task:
        """The task as it applies at the row's unit."""
        return self.tasks.get((row.task, row.unit)) or self.tasks[row.task, ""]

    def root_causes_at(self, stop: Stop) -> tuple[RootCauseCheck, ...]:
        """The root causes to check at a stop, by unit."""
        return tuple(
            each for unit in dict.fromkeys(row.unit for row in stop.rows) for each in self.root_causes.get(unit, ())
        )


def class_of(task: str, outcome: str | None) -> str:
    """The class of a due item; `outcome` is that of the unit's latest visit.

    >>> class_of("follow_up", "down"), class_of("follow_up", "recovering"), class_of("pump_check", "down")
    ('down', 'follow_up', 'pm')
    """
    return OF_OUTCOME.get(outcome or "", "follow_up") if task == FOLLOW_UP else "pm"


def key_of_item(work: str, task: str, due_on: str, interval: str | None, today: int) -> Key:
    """Where a due item stands: PM by urgency and share of its interval overrun, what is due first; the rest by date.

    `today` is the ordinal of the date at the site.
    """
    if work != "pm":
        return CLASSES.index(work), 0.0, 0.0, due_on
    late = today - ordinal(due_on)
    share = late / days_of(interval) if interval else float(late)
    return CLASSES.index(work), URGENCY.get(task, 0) + (0.0 if late >= 0 else NOT_DUE), -share, due_on


def key_of_call(urgency: str, received_at: str) -> Key:
    """Where a call stands: by urgency, then by when it was received."""
    return CLASSES.index(CALL), float(URGENCIES.index(urgency)), 0.0, received_at


@lru_cache(maxsize=4096)
def ordinal(day: str) -> int:
    """The number of a day."""
    return date.fromisoformat(day).toordinal()


@lru_cache(maxsize=1024)
def days_of(interval: str) -> int:
    """The length of an interval given as text, in days."""
    return parse_interval(interval).days


def listed_once(entries: Iterable[Entry]) -> list[Entry]:
    """The entries of one unit without those that another one contains, which takes the worse class of the two.

    A task contained in a larger one is done with it; a follow-up is done by the visit that answers a call.
    """
    left = {entry.item: entry for entry in entries}
    if left.keys().isdisjoint(CONTAINED):
        return list(left.values())
    calls = [entry for entry in left.values() if entry.work == CALL]
    first_call = min(calls, default=None, key=lambda entry: entry.key)
    for item in list(left):
        larger = next((code for code in CONTAINING.get(item, ()) if code in left), None)
        if item == FOLLOW_UP and first_call is not None:
            larger = first_call.item
        if larger is not None:
            left[larger] = _with(left[larger], left.pop(item))
    return list(left.values())


def _with(larger: Entry, contained: Entry) -> Entry:
    worse = min(larger, contained, key=lambda entry: entry.key)
    includes = (*larger.includes, contained.item)
    return larger._replace(key=worse.key, work=worse.work, includes=includes)


def into_stops(entries: Iterable[Entry]) -> list[list[Entry]]:
    """The entries by site, the worst site first and within it the worst item first."""
    sites: dict[int, list[Entry]] = {}
    for entry in entries:
        sites.setdefault(entry.site_id, []).append(entry)
    for found in sites.values():
        found.sort(key=lambda entry: (entry.key, entry.unit_id, entry.item))
    return sorted(sites.values(), key=lambda found: (found[0].key, found[0].site_id))


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
    return today.toordinal() - date.fromisoformat(row.due_on).toordinal()


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
