"""What the due items of many units need of the tables, fetched at once; their histories are not loaded for it."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from service.domain.maintenance.due import DueItem, LatestOutcome, due_items
from service.domain.maintenance.foreseen import Foreseen
from service.domain.maintenance.settings import Setting, changed_task
from service.domain.maintenance.tasks import Task
from service.domain.record.care import Care, LastDone, Planned
from service.domain.record.fleet import WEEKDAYS
from service.domain.record.pauses import Pause, Span, spans_of
from service.domain.record.unit_log import Performed
from service.storage.documents import day, read_many
from service.storage.places import Place
from service.storage.store import Store


@dataclass(frozen=True, slots=True)
class Rows:
    """By the identity of a unit: task results, latest outcome, settings of its own and planned first dates."""

    performed: Mapping[int, Sequence[Performed]]
    latest: Mapping[int, LatestOutcome]
    own: Mapping[int, Mapping[str, Setting]]
    planned: Mapping[int, Mapping[str, Planned]]
    foreseen: Foreseen

    def items(self, place: Place, tasks: Mapping[str, Task]) -> tuple[DueItem, ...]:
        """The due items of a unit that was never moved and has no task that goes by readings."""
        own = self.own.get(place.id, {})
        closed = place.closed_weekdays.split(",") if place.closed_weekdays else ()
        return due_items(
            tasks=[changed_task(task, own.get(code)) for code, task in tasks.items()] if own else list(tasks.values()),
            performed=self.performed.get(place.id, ()),
            installed_on=None if place.installed_on is None else date.fromisoformat(place.installed_on),
            registered_on=date.fromisoformat(place.registered_on),
            surroundings=place.surroundings,
            closed_weekdays=frozenset(WEEKDAYS.index(name) for name in closed),
            latest=self.latest.get(place.id),
            care=_care(place, self.planned.get(place.id, {})),
            foreseen=self.foreseen,
        )


def fetched(store: Store, low: int, high: int, foreseen: Foreseen) -> Rows:
    """The rows of units in a range of identities."""
    return Rows(
        performed=_performed(store.visits.performed(low, high), store.visits.by_others(low, high)),
        latest=_latest(store.visits.latest(low, high)),
        own=store.task_settings.own_in(low, high),
        planned=store.first_dates.of(low, high),
        foreseen=foreseen,
    )


def _care(place: Place, planned: Mapping[str, Planned]) -> Care:
    ends = (end for end in (place.retired_on, place.site_ended_on, place.customer_ended_on) if end is not None)
    return Care(
        care_from=day(place.care_from),
        last_done=read_many(LastDone, place.last_done),
        planned=planned,
        away=_away(place) if place.pauses or place.closures else (),
        out_from=day(min(ends, default=None)),
    )


def _away(place: Place) -> tuple[Span, ...]:
    return spans_of(read_many(Pause, place.pauses), read_many(Pause, place.closures), place.time_zone)


def _performed(rows: Iterable[tuple[Any, ...]], of_others: Iterable[tuple[Any, ...]]) -> dict[int, list[Performed]]:
    found: dict[int, list[Performed]] = defaultdict(list)
    on = lru_cache(maxsize=None)(date.fromisoformat)
    others = Counter(of_others)
    for row in rows:
        unit_id, task, on_day, result, as_found, reason = row
        by = "us"
        if others and others[row] > 0:
            by = "others"
            others[row] -= 1
        found[unit_id].append(Performed(task, on(on_day), result, as_found, reason, "", by))
    return found


def _latest(rows: Iterable[tuple[Any, ...]]) -> dict[int, LatestOutcome]:
    return {
        unit_id: LatestOutcome(
            visit_id, date.fromisoformat(on_day), outcome, None if promised is None else date.fromisoformat(promised)
        )
        for unit_id, visit_id, on_day, outcome, promised in rows
    }
