"""Vans: what is taken, put back and counted, what there should be, and what a day is likely to need."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import uuid4

from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid, KeyReused, NotFound
from service.domain.instants import local_day, to_text
from service.domain.plain import as_entered, from_plain
from service.domain.record.checks import AHEAD
from service.domain.record.visits import Visit, VisitFilter
from service.domain.vans.needs import Going, Need, by_technician, needs_of
from service.domain.vans.stock import Movement, Stock, stock_of
from service.storage.store import Store
from service.usecases import audit
from service.usecases.maintenance.learning import experience
from service.usecases.planning import pm_list

MOST_VISITS = 200
MOST_ITEMS = 1000


@dataclass(frozen=True, slots=True)
class Line:
    """An item to bring: what is needed, what the van has, and the chance that this does not suffice."""

    need: Need
    stock: float

    @property
    def chance_short(self) -> float:
        """The chance of running short with what the van has."""
        return self.need.short(self.stock)


def move(store: Store, actor: Actor, technician: str, new: Mapping[str, Any]) -> Movement:
    """Record a movement; one that was recorded already under its id is answered again."""
    given = from_plain(
        Movement, {"id": str(uuid4()), "at": actor.at, **new, "technician": technician, "by": actor.name}
    )
    if (known := store.vans.find(given.id)) is not None:
        if body_of(known) | {"at": None} != body_of(given) | {"at": None}:
            raise KeyReused(f"The movement {given.id!r} is already recorded with other content.")
        return known
    _store(store, actor, given)
    audit.created(store, actor, "van_movement", given.id, given)
    return given


def take(store: Store, actor: Actor, line: Mapping[str, Any], text: str) -> str:
    """Store the movement in a line of an import, which is `text`: "added" or "unchanged"."""
    given = from_plain(Movement, {"by": actor.name, **line})
    if store.vans.find(given.id) is not None:
        return "unchanged"
    _store(store, actor, given)
    audit.imported(store, actor, "van_movement", given.id, before=None, after=text)
    return "added"


def body_of(given: Movement) -> dict[str, Any]:
    """A movement as a file has it."""
    return as_entered(given)


def _store(store: Store, actor: Actor, given: Movement) -> None:
    technician_id = store.technicians.id_of(given.technician)
    if technician_id is None:
        raise NotFound("technician", given.technician)
    if given.at > actor.at + AHEAD:
        raise Invalid([Fault("at", to_text(given.at), f"is in the future; it is now {to_text(actor.at)}")])
    if (given.count is None) == (given.quantity is None):
        raise Invalid([Fault("count", given.count, "give either a count, or a quantity with its unit")])
    store.vans.add(given, technician_id)


def stock(store: Store, technician: str) -> list[Stock]:
    """What there should be in a technician's van; NotFound for nobody."""
    store.technicians.get(technician)
    movements = store.vans.of(technician)
    visits = _visits(store, technician, movements)
    kinds = {tag: store.units.get(tag).kinds for tag in sorted({visit.unit for visit in visits})}
    return stock_of(movements, visits, kinds)


def _visits(store: Store, technician: str, movements: list[Movement]) -> list[Visit]:
    """The visits that the technician led since the first movement that still counts."""
    if not movements:
        return []
    last_counts: dict[str, datetime] = {}
    for each in movements:
        if each.action == "count" or each.item not in last_counts:
            last_counts[each.item] = each.at
    since = local_day(min(last_counts.values()), "Etc/GMT+12").isoformat()  # where it is earliest
    found: list[Visit] = []
    after: tuple[str, str] | None = None
    while page := store.visits.page(VisitFilter(technician=technician, since=since), after=after, limit=MOST_VISITS):
        found += [visit for visit in page if visit.technician == technician]
        after = to_text(page[-1].arrived_at), page[-1].id
    return found


def load(store: Store, now: datetime, on: date | None, technician: str | None) -> dict[str, list[Line]]:
    """What each van should bring for the day of the list, beside what it has."""
    asked = pm_list.Asked(on=on, technician=technician, limit=MOST_ITEMS)
    pulled, _ = pm_list.pull(store, now, asked, frozenset())
    rows = [row for stop in pulled.stops for row in stop.rows if row.unit and row.technician]
    seen = experience(store)
    found: dict[str, list[Line]] = {}
    for code, tags in by_technician((row.technician, row.unit) for row in rows).items():
        if code is None:
            continue
        tasks = {tag: frozenset(row.task for row in rows if row.unit == tag) for tag in tags}
        kinds = {tag: tuple(check.component_kind for check in pulled.root_causes.get(tag, ())) for tag in tags}
        going = [Going(store.log_of(tag), tasks[tag], kinds[tag]) for tag in tags]
        there = {(each.item, each.dimension): each.amount for each in stock(store, code)}
        day = next(stop.today for stop in pulled.stops)
        needs = needs_of(going, day, seen)
        found[code] = [Line(need, there.get((need.item, need.dimension), 0.0)) for need in needs]
    return found
