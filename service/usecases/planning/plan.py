"""Who does what of the list on its day: assignments, postponements, and technicians who are away."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from service.domain.maintenance.due import FOLLOW_UP, latest_of
from service.domain.maintenance.list_order import CALL, Entry, class_of, key_of_item
from service.domain.record.assignments import away
from service.domain.record.fleet import Technician
from service.storage.assignments import InForce, Target
from service.storage.store import Store
from service.usecases.maintenance.due import fleet_tasks
from service.usecases.planning.moves_ahead import Ahead


@dataclass(frozen=True, slots=True)
class Days:
    """The date in each time zone, and the last day up to which things are due there; `zones` are those of sites."""

    today_in: Mapping[str, date]
    last_in: Mapping[str, str]
    zones: frozenset[str]

    @property
    def last(self) -> str:
        """The last of these days anywhere."""
        return max(self.last_in.values())

    @property
    def last_at_sites(self) -> str:
        """The last of these days at any site: what falls due later is on no site's list."""
        return max((self.last_in[zone] for zone in self.zones), default=self.last)


def planned(
    store: Store, entries: Sequence[Entry], who: Mapping[int, Technician], days: Days, moved: Ahead
) -> list[Entry]:
    """The entries as assigned: what goes to a later day is left out, what is brought forward is added.

    An open call stands on every day's list. Nobody is named for a technician who is away on that day.
    """
    since = min(days.today_in.values()).isoformat()
    plan: dict[Target, InForce] = {each[:3]: each for each in store.assignments.in_force(since)}
    if not plan:
        return of_those_present(entries, who, days)
    ahead = _ahead(store, entries, plan.values(), days, moved)
    return of_those_present(laid_over((*entries, *ahead), plan, days), who, days)


def laid_over(entries: Iterable[Entry], plan: Mapping[Target, InForce], days: Days) -> list[Entry]:
    """The entries as assigned, without what goes to a later day; an open call stays."""
    found = []
    for entry in entries:
        technician_id, later, day = _assigned(entry, plan, days)
        if later and entry.work != CALL:
            continue
        as_stored = (technician_id, day) == (entry.technician_id, entry.assigned_day)
        found.append(entry if as_stored else entry._replace(technician_id=technician_id, assigned_day=day))
    return found


def of_those_present(entries: Sequence[Entry], who: Mapping[int, Technician], days: Days) -> list[Entry]:
    """The entries, with nobody named for a technician who is away on that day."""
    out = {
        (key, day) for key, each in who.items() for day in days.today_in.values()
        if away(day, each.left_on, each.leave)
    }  # fmt: skip
    if not out:
        return list(entries)
    return [
        entry._replace(technician_id=None) if (entry.technician_id, days.today_in[entry.zone]) in out else entry
        for entry in entries
    ]


def _assigned(entry: Entry, plan: Mapping[Target, InForce], days: Days) -> tuple[int | None, bool, str | None]:
    """Who does an item, whether only after the days asked for, and on which day; the closest assignment counts.

    What falls due after the day to which its unit or site is assigned has no day; a call without a promise is due
    from the day on which it was received.
    """
    site, unit, due = entry.site_id, entry.unit_id, entry.begins or entry.due_on
    targets: tuple[Target, ...] = ((site, unit, entry.item), (site, unit, None), (site, None, None))
    for target in targets:
        if target in plan:
            *_, technician_id, day, postponed_to = plan[target]
            today, last = days.today_in[entry.zone].isoformat(), days.last_in[entry.zone]
            if (day or postponed_to or "") > last:
                return entry.technician_id, True, entry.assigned_day
            if day is not None and day >= today:
                return technician_id, False, day if target[2] is not None or due <= day else None
    return entry.technician_id, False, entry.assigned_day


def _ahead(
    store: Store, entries: Iterable[Entry], plan: Iterable[InForce], days: Days, moved: Ahead
) -> Iterator[Entry]:
    """Items that are not yet due, but assigned to one of these days at the site where the unit stands or will stand."""
    listed = {(entry.unit_id, entry.item) for entry in entries}
    wanted = [
        (site_id, unit_id, task, day)
        for site_id, unit_id, task, _, day, _ in plan
        if unit_id is not None and task is not None and day is not None and (unit_id, task) not in listed
        and day <= days.last
    ]  # fmt: skip
    facts = store.due.facts_of_units(sorted({unit_id for _, unit_id, *_ in wanted})) if wanted else {}
    tasks, technicians = fleet_tasks(store), store.technicians.ids()
    for site_id, unit_id, task, day in wanted:
        there = moved.get(unit_id)
        unit = there.unit if there else facts[unit_id]
        today, last = days.today_in[unit.time_zone].isoformat(), days.last_in[unit.time_zone]
        if unit.site_id != site_id or not today <= day <= last:
            continue
        technician_id = technicians.get(unit.technician or "")
        for item in there.items if there else store.due.at(unit_id):
            if item.task == task:
                due_on, zone = item.due_on.isoformat(), unit.time_zone
                work = _class_of(store, unit_id, task)
                key = key_of_item(work, task, due_on, item.interval, days.today_in[zone].toordinal())
                minutes = tasks[task].minutes
                yield Entry(unit.site_id, unit_id, task, key, due_on, minutes, work, zone, technician_id)


def _class_of(store: Store, unit_id: int, task: str) -> str:
    """The class of a due item: that of a follow-up goes by the latest outcome."""
    latest = next((latest_of(log) for _, log in store.unit_logs.of([unit_id])), None) if task == FOLLOW_UP else None
    return class_of(task, latest.outcome if latest else None)
