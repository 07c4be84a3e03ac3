"""Give work to technicians, and postpone it within each task's outer limit."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from service.domain.audit import Actor
from service.domain.errors import Conflict, Fault, Invalid, NotFound
from service.domain.instants import local_day
from service.domain.maintenance.due import DueItem
from service.domain.maintenance.settings import changed_task
from service.domain.maintenance.tasks import Task
from service.domain.plain import as_entered, from_plain
from service.domain.record.assignments import Assignment, away
from service.domain.record.locations import in_force
from service.storage.places import Place
from service.storage.store import Store
from service.usecases import audit
from service.usecases.maintenance.due import fleet_tasks
from service.usecases.planning import assignments_then
from service.usecases.record.out_of_service import work_faults

KEPT_BY_US = ("id", "posted_at", "posted_by", "version")
STAYS = ("site", "unit", "task")
PLANNED = ("technician", "day", "postponed_to", "why", "note")
Refers = dict[str, int | None]


def assign(store: Store, actor: Actor, new: Mapping[str, Any]) -> Assignment:
    """Store an assignment; Invalid with every fault, Conflict where the same work is assigned already."""
    given, refers, same = _asked(store, actor, new)
    if same is not None:
        raise Conflict(f"This work is already assigned, by the assignment {same}; change that one.")
    return _stored(store, actor, given, refers)


def plan(store: Store, actor: Actor, new: Mapping[str, Any]) -> Assignment:
    """Store an assignment, or change the one of the same work that is in force to it."""
    given, refers, same = _asked(store, actor, new)
    if same is None:
        return _stored(store, actor, given, refers)
    return change(store, actor, store.assignments.get(same), {name: getattr(given, name) for name in PLANNED})


def _asked(store: Store, actor: Actor, new: Mapping[str, Any]) -> tuple[Assignment, Refers, int | None]:
    """What is asked for, checked, with the identities of what it names, and which one in force is of the same work."""
    given = from_plain(Assignment, {**new, "posted_at": actor.at, "posted_by": actor.name})
    refers, today = _checked(store, actor, given)
    same = store.assignments.same(refers["site_id"] or 0, refers["unit_id"], given.task, today.isoformat())
    return given, refers, same


def take(store: Store, actor: Actor, line: Mapping[str, Any], *, numbered: bool) -> str:
    """Store an assignment from a file as it is, whatever day it is for: "added", or "unchanged" where it is stored.

    One that is `numbered` keeps its number.
    """
    given = from_plain(Assignment, {"posted_at": actor.at, "posted_by": actor.name, **line})
    refers, _, faults = _referred(store, given, ever=True)
    if faults:
        raise Invalid(faults)
    if store.assignments.is_stored(given, refers):
        return "unchanged"
    if numbered and store.versions.of("assignment", str(given.id)) is not None:
        raise Invalid([Fault("id", given.id, "is the number of another assignment")])
    _stored(store, actor, given if numbered else replace(given, id=0), refers)
    return "added"


def _stored(store: Store, actor: Actor, given: Assignment, refers: Refers) -> Assignment:
    made = replace(given, id=store.assignments.add(given, refers=refers))
    audit.created(store, actor, "assignment", str(made.id), made)
    return made


def body_of(given: Assignment) -> dict[str, Any]:
    """An assignment as the body that the API takes."""
    return {name: part for name, part in as_entered(given).items() if name not in KEPT_BY_US}


def change(store: Store, actor: Actor, former: Assignment, changes: Mapping[str, Any]) -> Assignment:
    """Change who does the work and when; of which work it is stays."""
    faults = [
        Fault(name, changes[name], "stays; delete the assignment and make another")
        for name in STAYS
        if name in changes and changes[name] != getattr(former, name)
    ]
    if faults:
        raise Invalid(faults)
    changed = replace(former, **changes, version=former.version + 1)
    refers, _ = _checked(store, actor, changed)
    store.assignments.save(changed, refers["technician_id"])
    assignments_then.keep(store, actor, former, changed)
    audit.changed(store, actor, "assignment", str(former.id), before=former, after=changed)
    return changed


def remove(store: Store, actor: Actor, former: Assignment) -> None:
    """Delete an assignment: the work stands on the list as before."""
    store.assignments.drop(former.id)
    assignments_then.keep(store, actor, former)
    audit.deleted(store, actor, "assignment", str(former.id), former)


def _checked(store: Store, actor: Actor, given: Assignment) -> tuple[Refers, date]:
    """The identities of what is named, and the date at the site; Invalid with every fault."""
    refers, units, faults = _referred(store, given)
    site = store.sites.get(given.site)
    today = local_day(actor.at, site.time_zone)
    faults += [*_plan_faults(given, today), *_technician_faults(store, given)]
    for name in ("day", "postponed_to"):
        day = getattr(given, name)
        if day is not None and not any(fault.field in (name, "unit") for fault in faults):
            faults += work_faults(store, site, units[0] if given.unit else None, name, day)
    if given.postponed_to is not None and not faults:
        faults += _limit_faults(store, actor, given, units)
    if faults:
        raise Invalid(faults)
    return refers, today


def _referred(store: Store, given: Assignment, *, ever: bool = False) -> tuple[Refers, list[Place], list[Fault]]:
    """The identities of what is named, the units whose work it is, and what is named wrongly."""
    ids = store.sites.ids_of(given.site)
    if ids is None:
        raise Invalid([Fault("site", given.site, f"there is no site {given.site!r}")])
    units, faults = _units(store, given, ids[0], ever=ever)
    technician_id = None if given.technician is None else store.technicians.id_of(given.technician)
    if given.technician is not None and technician_id is None:
        faults.append(Fault("technician", given.technician, f"there is no technician {given.technician!r}"))
    refers: Refers = {
        "site_id": ids[0],
        "customer_id": ids[1],
        "unit_id": units[0].id if given.unit else None,
        "technician_id": technician_id,
    }
    return refers, units, faults


def _units(store: Store, given: Assignment, site_id: int, *, ever: bool) -> tuple[list[Place], list[Fault]]:
    """The units whose work it is; with `ever` one that stood at the site once will do, as for a day that is over."""
    if given.unit is None:
        wrong = [Fault("task", given.task, "a task is assigned at a unit: name the unit too")] if given.task else []
        return store.units.places_at([site_id]), wrong
    try:
        place = store.units.place(given.unit)
    except NotFound as unknown:
        raise Invalid([Fault("unit", given.unit, f"there is no unit {given.unit!r}")]) from unknown
    if place.site_id == site_id or given.site in _other_sites(store, place, given, ever=ever):
        return [place], []
    return [place], [Fault("unit", given.unit, f"does not stand at the site {given.site!r}")]


def _other_sites(store: Store, place: Place, given: Assignment, *, ever: bool) -> set[str]:
    """Where the unit stands on the day of the work; with `ever` wherever it stood or is to stand."""
    known, day = store.locations.of(place.id), given.day or given.postponed_to
    if ever:
        return {each.site.code for each in known}
    begun = [each for each in in_force(known) if each.starts_on is None or (day is not None and each.starts_on <= day)]
    return {each.site.code for each in begun[-1:]}


def _plan_faults(given: Assignment, today: date) -> Iterator[Fault]:
    if given.postponed_to is None:
        if given.technician is None or given.day is None:
            field = "technician" if given.technician is None else "day"
            yield Fault(field, None, "give technician and day, or postponed_to and why")
    elif given.technician is not None or given.day is not None:
        yield Fault("postponed_to", given.postponed_to.isoformat(), "is instead of technician and day: give either")
    elif not given.why:
        yield Fault("why", None, "is required for work that is postponed")
    for name in ("day", "postponed_to"):
        day = getattr(given, name)
        if day is not None and day < today:
            yield Fault(name, day.isoformat(), f"is past; it is {today.isoformat()} at the site")


def _technician_faults(store: Store, given: Assignment) -> Iterator[Fault]:
    """Whether a technician who is known works on the day."""
    if given.technician is None or given.day is None or store.technicians.id_of(given.technician) is None:
        return
    technician = store.technicians.get(given.technician)
    if why := away(given.day, technician.left_on, technician.leave):
        yield Fault("technician", given.technician, f"{why}, so cannot be assigned on {given.day.isoformat()}")


def _limit_faults(store: Store, actor: Actor, given: Assignment, units: list[Place]) -> Iterator[Fault]:
    """What may not wait so long: the outer limit is the task's longest interval since it was last done."""
    if actor.role == "owner" and given.note:
        return
    tasks = fleet_tasks(store)
    for place in units:
        own = store.task_settings.at(place.id)
        for item in store.due.at(place.id):
            if given.task not in (None, item.task):
                continue
            limit = outer_limit(changed_task(tasks[item.task], own.get(item.task)), item)
            if item.due_on <= (given.postponed_to or item.due_on) and (given.postponed_to or limit) > limit:
                message = (
                    f"{item.task} at {place.tag} may wait until {limit.isoformat()}; an owner may go beyond with a note"
                )
                yield Fault("postponed_to", str(given.postponed_to), message)


def outer_limit(task: Task, item: DueItem) -> date:
    """The last day to which an item may be postponed: a follow-up not at all.

    One that was never done may wait for as long after its date as its longest interval is longer than the one in force.
    """
    if task.longest is None or task.interval is None:
        return item.due_on
    if item.last_done_on is not None:
        return max(item.last_done_on + timedelta(days=task.longest.days), item.due_on)
    return item.due_on + timedelta(days=task.longest.days - task.interval.days)
