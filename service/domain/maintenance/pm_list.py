"""The day's work: due items grouped into stops, one stop for each site."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from service.domain.maintenance.tasks import Task
from service.domain.root_causes.life_cycle import RootCauseCheck


class DueRow(NamedTuple):
    """One due item with the facts about its unit and site, as stored.

    `own` is the unit's own setting for the task, as JSON text.
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


@dataclass(frozen=True, slots=True)
class Stop:
    """One site with its items in the order in which they fell due; `today` is the site's own date."""

    today: date
    rows: tuple[DueRow, ...]

    @property
    def site(self) -> DueRow:
        """The site's facts; every row has them."""
        return self.rows[0]


@dataclass(frozen=True, slots=True)
class PmList:
    """Stops, most overdue first. `tasks[code, unit tag]` overrides `tasks[code, ""]`, the catalogue's task.

    `root_causes` holds by unit tag the root causes to check while there.
    """

    horizon_days: int
    stops: tuple[Stop, ...]
    tasks: Mapping[tuple[str, str], Task]
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


def into_stops(rows: Iterable[DueRow], today_in: Mapping[str, date], horizon_days: int) -> tuple[Stop, ...]:
    """Group rows (in due order) by site, without those that are not yet due at the site's date.

    `today_in` maps each time zone to the date there.
    """
    gathered: dict[str, list[DueRow]] = {}
    latest = {zone: date.fromordinal(day.toordinal() + horizon_days).isoformat() for zone, day in today_in.items()}
    for row in rows:
        if row.due_on <= latest[row.time_zone]:
            gathered.setdefault(row.site, []).append(row)
    return tuple(Stop(today_in[found[0].time_zone], tuple(found)) for found in gathered.values())


def days_overdue(row: DueRow, today: date) -> int:
    """Days since the item fell due [d]; negative while it lies ahead."""
    return today.toordinal() - date.fromisoformat(row.due_on).toordinal()


def status(overdue: int) -> str:
    """The status for this many days overdue."""
    if overdue > 0:
        return "overdue"
    return "due_today" if overdue == 0 else "due_soon"


def minutes(pm_list: PmList, rows: Sequence[DueRow]) -> int:
    """Working time of these items [min], travel not counted."""
    return sum(pm_list.task(row).minutes for row in rows)
