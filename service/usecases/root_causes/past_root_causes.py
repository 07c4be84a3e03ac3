"""Root causes that a year's own visits bear out where these were recorded only after the year, as in an import."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, datetime

from service.domain.instants import end_of_day, local_day, start_of_day, to_text
from service.domain.record.failed import may_have_failed
from service.domain.record.unit_log import UnitLog
from service.domain.root_causes.found import RootCauseFound
from service.domain.root_causes.history import history_of
from service.domain.root_causes.life_cycle import RootCause
from service.storage.store import Store
from service.usecases.root_causes.root_causes import as_root_cause, found_by

CHANGED = ("tier", "probability_of_chance", "document", "evidence_key", "first_seen")


def with_those_of(
    store: Store, log: UnitLog, found: Iterable[RootCause], year: int, as_of: datetime
) -> tuple[RootCause, ...]:
    """A unit's root causes with those that a search at the year's end would have found, had its visits been recorded.

    Such a one is first seen on the day of the last of its failures; it is weighed by what had been learned from the
    fleet by the year's end, and stands as was decided on the one found later.
    """
    last, stored = date(year, 12, 31), {each.kind: each for each in found}
    end = end_of_day(last, log.time_zone)
    late = _recorded_after(log, end) if as_of >= end else set()
    for each in _searched(store, log, last, end) if late else ():
        former = stored.get(each.component_kind)
        if each.component_kind in late and (former is None or local_day(former.first_seen, log.time_zone) > last):
            then = as_root_cause(each, _last_failure(each, log.time_zone))
            changed = {name: getattr(then, name) for name in CHANGED}
            stored[each.component_kind] = then if former is None else replace(former, **changed)
    return tuple(stored.values())


def _recorded_after(log: UnitLog, end: datetime) -> set[str]:
    """The kinds that may have failed on two days by an instant and of which one was recorded after it."""
    late = {visit.id for visit in log.visits if visit.posted_at > end}
    days: dict[str, set[date]] = defaultdict(set)
    kinds: set[str] = set()
    for part in log.as_of(end).replaced() if late else ():
        if may_have_failed(part):
            days[part.kind].add(part.on)
            kinds |= {part.kind} if part.visit in late else set()
    return {kind for kind in kinds if len(days[kind]) > 1}


def _searched(store: Store, log: UnitLog, last: date, end: datetime) -> Iterator[RootCauseFound]:
    history = history_of(log.as_of(end).facts_at(end), last)
    yield from found_by(history, last, store.baselines.latest_by(to_text(end)))


def _last_failure(found: RootCauseFound, zone: str) -> datetime:
    return start_of_day(max(event.day for event in found.events), zone)
