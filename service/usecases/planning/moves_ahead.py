"""Units that will stand at another site on a day to come: what is due of them is listed there."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from service.domain.condition.foreseen import foreseen_of
from service.domain.maintenance.due import DueItem, due_of
from service.domain.maintenance.list_order import Entry
from service.domain.maintenance.pm_list import UnitFacts
from service.domain.maintenance.tasks import Task
from service.domain.record.locations import Location
from service.domain.record.unit_log import UnitLog
from service.storage.store import Store
from service.usecases.maintenance.learning import learned_by
from service.usecases.planning.list_items import Item
from service.usecases.planning.past_list import FAR, due_on_list, facts_at
from service.usecases.record.locations import LATEST_ZONE


@dataclass(frozen=True, slots=True)
class Moved:
    """A unit as it will stand, and what is due of it there."""

    log: UnitLog
    unit: UnitFacts
    items: tuple[DueItem, ...]
    technician_id: int | None

    def listed(self, tasks: Mapping[str, Task], on: date, last: str = FAR) -> Iterator[Item]:
        """Its due items on the list of a day; `last` is the last day of the horizon there."""
        for entry, source in due_on_list(self.log, self.unit, tasks, self.items, last, on):
            yield self.placed(entry), source

    def placed(self, entry: Entry) -> Entry:
        """An item of the unit at the site where it will stand."""
        zone = self.log.time_zone
        return entry._replace(site_id=self.unit.site_id, zone=zone, technician_id=self.technician_id)


Ahead = Mapping[int, Moved]  # by unit


def moved_by(store: Store, now: datetime, on: date | None, tasks: Mapping[str, Task]) -> dict[int, Moved]:
    """The units that are to be moved until a day to come; none for the list of today."""
    if on is None:
        return {}
    begun = (now + LATEST_ZONE).date().isoformat()
    found = {}
    for tag in store.locations.to_begin(begun, on.isoformat()):
        place, log = store.units.place(tag), store.log_of(tag)
        there = _standing_on(log, on)
        if there.site.code != place.site:
            found[place.id] = _moved(store, place.id, log.standing_in(there), tasks, now)
    return found


def _standing_on(log: UnitLog, on: date) -> Location:
    return next(each for each in reversed(log.locations) if (each.starts_on or date.min) <= on)


def _moved(store: Store, unit_id: int, log: UnitLog, tasks: Mapping[str, Task], now: datetime) -> Moved:
    unit = facts_at(store, store.due.facts_of_units([unit_id])[unit_id], log.site.code)
    items = tuple(due_of(log, tasks, foreseen_of(log, tasks, learned_by(store, now))))
    return Moved(log, unit, items, store.technicians.ids().get(unit.technician or ""))
