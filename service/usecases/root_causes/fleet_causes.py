"""What stands beside the root causes of units: what failures at several have in common, and faults measured."""

from datetime import date, datetime
from typing import TYPE_CHECKING

from service.domain.instants import end_of_day, local_day, to_text
from service.domain.root_causes.history import history_of
from service.storage.store import Store
from service.usecases.root_causes.root_causes import baselines_of

if TYPE_CHECKING:
    from service.domain.root_causes.baselines import Baselines
    from service.domain.root_causes.fleet_search import FleetCause
    from service.domain.root_causes.measured import FaultMeasured

MOST_FAULTS = 200  # units looked at and faults in one answer, those with most failures first


def of_fleet(store: Store, tier: str | None, *, day: date | None, people: bool) -> list["FleetCause"]:
    """What failures at several units have in common, by the last search, or by the last until the end of a day in UTC.

    What concerns technicians only where `people` are asked for.
    """
    return [
        each
        for each in _learned_by(store, day).fleet
        if tier in (None, each.tier) and (people or each.level != "technician")
    ]


def measured(store: Store, unit: str | None, *, day: date | None, at: datetime) -> list["FaultMeasured"]:
    """Faults that stand at the last readings of a unit, or of those that the last search found with any.

    By a day's end from what was recorded by then.
    """
    from service.domain.root_causes.measured import faults_of

    keys = list(_learned_by(store, day).measured[:MOST_FAULTS])
    if unit is not None:
        tag = store.units.present_tag(unit)
        keys = [] if tag is None else [store.units.place(tag).id]
    found: list[FaultMeasured] = []
    for _, log in store.unit_logs.of(keys):
        end = at if day is None else end_of_day(day, log.time_zone)
        known = log if day is None else log.as_of(end).known_at(end)
        found += faults_of(history_of(known, local_day(end, log.time_zone)))
    return sorted(found, key=lambda each: (-sum(each.failed.values()), each.unit))[:MOST_FAULTS]


def _learned_by(store: Store, day: date | None) -> "Baselines":
    """What was learned last, or by the end of a day in UTC."""
    return baselines_of(
        store.baselines.latest() if day is None else store.baselines.latest_by(to_text(end_of_day(day, "UTC")))
    )
