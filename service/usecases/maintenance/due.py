"""Keep due items true: one unit when a visit is posted, a site when its day begins, the fleet on demand."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from functools import lru_cache
from hashlib import sha256
from types import MappingProxyType
from typing import Any, NamedTuple

import orjson

from service import __version__
from service.domain.instants import local_day
from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.due import FOLLOW_UP, DueItem, due_of
from service.domain.maintenance.foreseen import Foreseen
from service.domain.maintenance.settings import Setting, changed_task
from service.domain.maintenance.tasks import CONDITION, LEARNED, Task
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Visit
from service.storage.places import Place
from service.storage.store import Store
from service.usecases.maintenance.due_rows import fetched
from service.usecases.maintenance.learning import learned_now, of_dates, of_fouling
from service.usecases.system import FleetDatabase

LARGEST_GAP = 8
BY_FLEET = (LEARNED, CONDITION)


class WorkedOut(NamedTuple):
    """The due items of a unit; those that are to be stored, and the tasks that are no longer due."""

    place: Place
    items: list[DueItem]
    changes: list[DueItem]
    gone: list[str]


def fleet_tasks(store: Store) -> Mapping[str, Task]:
    """The catalogue with the company's settings, by code."""
    return _as_set(store.task_settings.texts())


@lru_cache(maxsize=8)
def _as_set(texts: tuple[tuple[str, str], ...]) -> Mapping[str, Task]:
    """The same tasks for the same settings: every visit asks for them."""
    settings = {task: Setting(task, orjson.loads(text)) for task, text in texts}
    return MappingProxyType({task.code: changed_task(task, settings.get(task.code)) for task in CATALOGUE})


def rules(store: Store) -> int:
    """A number for the rules by which due items are worked out now: program, catalogue and settings for all units.

    Where a rule rests on what the fleet shows, that counts as well.
    """
    texts = store.task_settings.texts()
    by = {task.rule for task in _as_set(texts).values()}
    learned = store.learned.latest() if by.intersection(BY_FLEET) else None
    return _rules(texts, of_dates(learned) if CONDITION in by else of_fouling(learned))


@lru_cache(maxsize=8)
def _rules(texts: tuple[tuple[str, str], ...], learned: str | None) -> int:
    digest = sha256(repr((__version__, CATALOGUE, texts, learned)).encode()).digest()
    return int.from_bytes(digest[:4]) >> 1 or 1  # 0 stands for none


def refresh_unit(store: Store, place: Place, log: UnitLog) -> list[DueItem]:
    """Calculate one unit's due items from its history, store what changed, return them soonest first.

    `place` is the unit after `raise_log`, and `log` its history of that version.
    """
    items = items_of(store, log, fleet_tasks(store))
    made = _compared(place, items, store.due.at(place.id))
    keep(store, [made])
    return made.items


def items_of(store: Store, log: UnitLog, tasks: Mapping[str, Task]) -> tuple[DueItem, ...]:
    """The due items of a unit from its history, these tasks, and what its readings and the fleet show."""
    if not _asks_for_fleet(tasks, log.settings):
        return due_of(log, tasks)
    if not _asks_for_fleet(tasks, log.settings, (CONDITION,)):
        return due_of(log, tasks, _fouling(store))
    from service.domain.condition.foreseen import foreseen_of  # it needs numpy

    return due_of(log, tasks, foreseen_of(log, tasks, learned_now(store)))


def _fouling(store: Store) -> Foreseen:
    """What the fleet shows of fouling, all that the rule `learned` needs beside the grades."""
    return Foreseen(learned_now(store).fouling)


def _asks_for_fleet(
    tasks: Mapping[str, Task], own: Mapping[str, Mapping[str, Any]], by: Sequence[str] = BY_FLEET
) -> bool:
    """Whether a task goes by one of the rules that rest on readings or on what the fleet shows."""
    return any(own.get(code, {}).get("rule", task.rule) in by for code, task in tasks.items())


def refresh_after_visit(store: Store, place: Place, log: UnitLog, visit: Visit) -> list[DueItem]:
    """As `refresh_unit` after a visit, where the items held before it: only those of its tasks can have changed."""
    tasks = fleet_tasks(store)
    named = affected({result.task for result in visit.tasks}) | _by_condition(tasks, log.settings)
    known = store.due.at(place.id)
    items = items_of(store, log, {code: task for code, task in tasks.items() if code in named})
    keep(store, [_compared(place, items, [item for item in known if item.task in named])])
    kept = [item for item in known if item.task not in named]
    return sorted([*kept, *items], key=lambda item: (item.due_on, item.task))


def affected(done: set[str]) -> set[str]:
    """The tasks whose due dates a visit with these tasks may move: they, those they do as well, and a follow-up."""
    return done | {FOLLOW_UP} | {task.code for task in CATALOGUE if done.intersection(task.also_by)}


def _by_condition(tasks: Mapping[str, Task], own: Mapping[str, Mapping[str, Any]]) -> set[str]:
    """The tasks of a unit whose dates follow from its readings."""
    return {code for code, task in tasks.items() if own.get(code, {}).get("rule", task.rule) == CONDITION}


def changed(store: Store, place: Place) -> tuple[Place, UnitLog]:
    """Count a change of a unit's history that is in the tables; the unit and its history as they now are."""
    store.visits.flush()
    raised = store.units.raise_log(place, rules(store))
    return raised, store.unit_logs.get(raised.id, raised.log_version)


def refresh_places(store: Store, places: Sequence[Place], tasks: Mapping[str, Task]) -> list[list[DueItem]]:
    """Work out the due items of several units, store what changed, return them by unit in the order given."""
    made = worked_out(store, places, tasks)
    keep(store, made)
    found = {each.place.id: each.items for each in made}
    return [found[place.id] for place in places]


def worked_out(store: Store, places: Sequence[Place], tasks: Mapping[str, Task]) -> list[WorkedOut]:
    """The due items of several units, by identity; nothing is stored."""
    return [each for run in runs(sorted(places)) for each in _of_run(store, run, tasks)]


def keep(store: Store, made: Sequence[WorkedOut]) -> None:
    """Store what changed."""
    store.due.write(
        [(each.place, item) for each in made for item in each.changes],
        [(each.place, task) for each in made for task in each.gone],
    )


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


def _of_run(store: Store, places: Sequence[Place], tasks: Mapping[str, Task]) -> Iterator[WorkedOut]:
    low, high = places[0].id, places[-1].id
    rows = fetched(store, low, high, _fouling(store))
    known = store.due.of(low, high)
    logs = dict(store.unit_logs.of(_with_logs(store, places, tasks, rows.own)))
    for place in places:
        log = logs.get(place.id)
        items = rows.items(place, tasks) if log is None else items_of(store, log, tasks)
        yield _compared(place, items, known.get(place.id, ()))


def _with_logs(
    store: Store, places: Sequence[Place], tasks: Mapping[str, Task], own: Mapping[int, Mapping[str, Setting]]
) -> list[int]:
    """The units whose items need their whole history: moved ones, and those that go by readings."""
    needed = set(store.locations.moved_in(places[0].id, places[-1].id))
    all_units = _asks_for_fleet(tasks, {}, (CONDITION,))
    for place in places:
        settings = {code: each.changes for code, each in own[place.id].items()} if place.id in own else {}
        if _asks_for_fleet(tasks, settings, (CONDITION,)) if settings else all_units:
            needed.add(place.id)
    return sorted(needed)


def refresh_stale(store: Store, after: int, most: int) -> tuple[int | None, int]:
    """Refresh the next units whose history or rules changed since their due items were calculated.

    Nothing of a due item depends on today, so a day on which nothing changed asks for nothing. Returns where to go on
    (None at the end) and how many there were.
    """
    current = rules(store)
    places = store.units.stale(current, after=after, most=most)
    if places:
        places = store.units.places_of([place.id for place in places])  # other writers of them wait, or have been
        refresh_places(store, places, fleet_tasks(store))
        store.units.keep_due_state(places, current)
    return (places[-1].id if len(places) == most else None), len(places)


def refresh_all_stale(database: FleetDatabase, most: int) -> int:
    """Refresh every unit that needs it, so many a transaction; how many there were. Nothing is written for none."""
    with database.reading() as store:
        if not store.units.stale(rules(store), after=0, most=1):
            return 0
    units, after = 0, 0
    while True:
        with database.writing() as store:
            following, count = refresh_stale(store, after, most)
        units += count
        if following is None:
            return units
        after = following


def due_at(store: Store, tag: str, now: datetime) -> tuple[list[DueItem], date]:
    """What is due at a unit, and the date there; nothing once it is out of our care."""
    place = store.units.place(tag)
    today = local_day(now, place.time_zone)
    return [item for item in store.due.at(place.id) if not item.ended(today)], today


def _compared(place: Place, items: Sequence[DueItem], stored: Iterable[DueItem]) -> WorkedOut:
    former = {item.task: item for item in stored}
    changes = [item for item in items if former.pop(item.task, None) != item]
    return WorkedOut(place, list(items), changes, [*former])
