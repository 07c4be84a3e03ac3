"""Keep due items true: one unit when a visit is posted, a site when its day begins, the fleet on demand."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from functools import lru_cache
from types import MappingProxyType
from typing import Any

import orjson

from service.domain.instants import local_day, to_text
from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.due import FOLLOW_UP, Attendance, DueItem, Performed, due_items
from service.domain.maintenance.settings import Setting, changed_task
from service.domain.maintenance.tasks import Task
from service.domain.record.fleet import WEEKDAYS
from service.storage.store import Store
from service.storage.units import Place

JOB = "due_items"
LARGEST_GAP = 8
Change = tuple[Place, DueItem, bool]


def fleet_tasks(store: Store) -> Mapping[str, Task]:
    """The catalogue as the shop has set it, by code."""
    return _as_set(store.task_settings.texts())


@lru_cache(maxsize=8)
def _as_set(texts: tuple[tuple[str, str], ...]) -> Mapping[str, Task]:
    """The same tasks for the same settings: every visit asks for them."""
    settings = {task: Setting(task, orjson.loads(text)) for task, text in texts}
    return MappingProxyType({task.code: changed_task(task, settings.get(task.code)) for task in CATALOGUE})


def refresh_unit(store: Store, place: Place) -> list[DueItem]:
    """Work out one unit's due items anew, store what changed, return them soonest first."""
    return refresh_places(store, [place], fleet_tasks(store))[0]


def refresh_after_visit(store: Store, place: Place, told: Iterable[str]) -> list[DueItem]:
    """Bring a unit's due items up to date after a visit that told these tasks; the others cannot have changed."""
    named = concerned(set(told)) | {FOLLOW_UP}
    sources = named | {code for task in CATALOGUE if task.code in named for code in task.also_by}
    known = store.due.at(place.id)
    own = store.task_settings.at(place.id)
    performed = _performed(store.visits.performed_of(place.id, sorted(sources))).get(place.id, ())
    latest = _latest(store.visits.latest(place.id, place.id)).get(place.id)
    tasks = {code: task for code, task in fleet_tasks(store).items() if code in named}
    items = _items(place, tasks, own, performed, latest)
    former = {item.task: item for item in known if item.task in named}
    store.due.write(*_differences(place, items, former))
    kept = [item for item in known if item.task not in named and place.retired_on is None]
    return sorted([*kept, *items], key=lambda item: (item.due_on, item.task))


def concerned(told: set[str]) -> set[str]:
    """The tasks whose due dates these tasks may move: themselves, and those that they do as well."""
    return told | {task.code for task in CATALOGUE if told.intersection(task.also_by)}


def refresh_places(store: Store, places: Sequence[Place], tasks: Mapping[str, Task]) -> list[list[DueItem]]:
    """Work out the due items of several units, store what changed, return them by unit in the order given."""
    found: dict[int, list[DueItem]] = {}
    for run in runs(sorted(places)):
        found |= _refresh_run(store, run, tasks)
    return [found[place.id] for place in places]


def runs(places: Sequence[Place]) -> Iterator[list[Place]]:
    """Units whose identities lie close together, so that one question about a range finds little else."""
    run: list[Place] = []
    for place in places:
        if run and place.id - run[-1].id > LARGEST_GAP:
            yield run
            run = []
        run.append(place)
    if run:
        yield run


def _refresh_run(store: Store, places: Sequence[Place], tasks: Mapping[str, Task]) -> dict[int, list[DueItem]]:
    low, high = places[0].id, places[-1].id
    performed = _performed(store.visits.performed(low, high))
    latest = _latest(store.visits.latest(low, high))
    own = store.task_settings.own_in(low, high)
    known = store.due.of(low, high)
    changes: list[Change] = []
    gone: list[tuple[Place, str]] = []
    found: dict[int, list[DueItem]] = {}
    for place in places:
        items = _items(place, tasks, own.get(place.id, {}), performed.get(place.id, ()), latest.get(place.id))
        altered, ended = _differences(place, items, {item.task: item for item in known.get(place.id, ())})
        changes += altered
        gone += ended
        found[place.id] = items
    store.due.write(changes, gone)
    return found


def refresh_site_days(store: Store, now: datetime, most: int, after: int = 0) -> tuple[int | None, int]:
    """Do the day's work for the next sites whose day has begun and is not done.

    Returns behind which site to go on (None when no more are undone) and how many were ours. The ledger's rows are
    written in the same transaction as the work: a stop in between leaves both undone.
    """
    today_in = {zone: local_day(now, zone).isoformat() for zone in store.sites.zones()}
    sites = store.days_done.undone(JOB, today_in, most=most, after=after)
    if not sites:
        return None, 0
    ours = [site_id for site_id, day in sites if store.days_done.claim(JOB, site_id, day, to_text(now))]
    if places := store.units.places_at(ours):
        refresh_places(store, places, fleet_tasks(store))
    return sites[-1][0], len(ours)


def refresh_next(store: Store, after: int, most: int) -> tuple[int | None, int]:
    """Refresh the next units by identity; returns where to go on (None at the end) and how many there were."""
    places = store.units.places_after(after, most)
    if places:
        refresh_places(store, places, fleet_tasks(store))
    return (places[-1].id if len(places) == most else None), len(places)


def due_at(store: Store, tag: str, now: datetime) -> tuple[list[DueItem], date]:
    """What is due at a unit, and the date there."""
    place = store.units.place(tag)
    return store.due.at(place.id), local_day(now, place.time_zone)


def _differences(
    place: Place, items: Sequence[DueItem], former: Mapping[str, DueItem]
) -> tuple[list[Change], list[tuple[Place, str]]]:
    """What must be stored, each told to be new or not, and what is due no more."""
    changes = [(place, item, item.task not in former) for item in items if former.get(item.task) != item]
    return changes, [(place, task) for task in former.keys() - {item.task for item in items}]


def _items(
    place: Place,
    tasks: Mapping[str, Task],
    own: Mapping[str, Setting],
    performed: Sequence[Performed],
    latest: Attendance | None,
) -> list[DueItem]:
    if place.retired_on is not None:
        return []
    closed = place.closed_weekdays.split(",") if place.closed_weekdays else ()
    return list(
        due_items(
            tasks=[changed_task(task, own.get(code)) for code, task in tasks.items()] if own else list(tasks.values()),
            performed=performed,
            installed_on=None if place.installed_on is None else date.fromisoformat(place.installed_on),
            registered_on=date.fromisoformat(place.registered_on),
            surroundings=place.surroundings,
            closed_weekdays=frozenset(WEEKDAYS.index(name) for name in closed),
            latest=latest,
        )
    )


def _performed(rows: Iterable[tuple[Any, ...]]) -> dict[int, list[Performed]]:
    found: dict[int, list[Performed]] = {}
    for unit_id, task, day, result, as_found, reason in rows:
        found.setdefault(unit_id, []).append(Performed(task, date.fromisoformat(day), result, as_found, reason))
    return found


def _latest(rows: Iterable[tuple[Any, ...]]) -> dict[int, Attendance]:
    return {unit_id: Attendance(visit_id, date.fromisoformat(day), outcome) for unit_id, visit_id, day, outcome in rows}
