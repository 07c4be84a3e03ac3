"""Search units for root causes of repeated failures, store what was found and what was decided on it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import orjson

from service.domain.audit import Actor
from service.domain.instants import end_of_day, local_day, to_text
from service.domain.plain import to_plain
from service.domain.record.unit_log import UnitLog
from service.domain.root_causes.explanation import in_words
from service.domain.root_causes.found import RootCauseFound
from service.domain.root_causes.history import FailureHistory, history_of, may_have_failed_twice
from service.domain.root_causes.life_cycle import (
    RootCause,
    RootCauseCheck,
    RootCauseFilter,
    decided,
    found_again,
    found_no_more,
)
from service.storage.places import Place
from service.storage.root_causes import Position, position
from service.storage.store import Store
from service.usecases import audit
from service.usecases.system import FleetDatabase

if TYPE_CHECKING:
    from service.domain.root_causes.baselines import Baselines

__all__ = ["Position", "position"]

JOB = "root_causes"
UNITS_A_TURN = 5  # searched in one transaction: some tens of milliseconds
UNITS_A_PAGE = 200
KnownPosition = tuple[int, str]  # unit identity, component kind


def search(store: Store, place: Place, log: UnitLog, at: datetime) -> list[RootCause]:
    """Search a unit's history, and return its root causes as they now stand.

    Nothing is to be searched where no parts of one kind may have failed twice and nothing was found before.
    """
    known = store.root_causes.at(place.id)
    if not known and not may_have_failed_twice(log):
        return []
    today = local_day(at, place.time_zone)
    history = history_of(log, today)
    return remember(store, place, history, known, found=found_by(history, today, store.baselines.latest()), at=at)


def search_many(store: Store, places: Mapping[int, Place], at: datetime) -> None:
    """Search those of many units by identity that ask for it; the histories of the others are not loaded."""
    for key, log in store.unit_logs.of(store.failures.to_search(list(places))):
        search(store, places[key], log, at)


def judge_remedies(store: Store, places: Mapping[int, Place], at: datetime) -> None:
    """Judge the remedies that came without a verdict, at those of many units whose root causes are known."""
    for key, log in store.unit_logs.of(store.failures.to_search(list(places))):
        history = history_of(log, local_day(at, places[key].time_zone))
        for each in store.root_causes.at(key).values():
            if each.resolved_on is not None and each.after_remedy is None:
                verdict = _after_remedy(each, history)
                store.root_causes.save(replace(each, after_remedy=verdict, version=each.version + 1))


def search_fleet(database: FleetDatabase, at: datetime, gap: Callable[[], None], *, renewed: bool = False) -> int:
    """Learn from the fleet, and search the units whose root causes have changed; how many there were.

    Few units a transaction, with a gap after each, so that visits get through. `renewed`: figures were made for new
    causes before, so all units with any are searched.
    """
    from service.domain.root_causes import baselines_json  # they need scipy
    from service.usecases.root_causes import failure_statistics

    renewed |= failure_statistics.renew(database, at, gap)
    with database.reading() as store:
        baselines = failure_statistics.learned(store, at)
        ids = failure_statistics.to_search(store, baselines, at, all_known=renewed)
    with database.writing() as store:
        store.baselines.keep(baselines_json.to_json(baselines), to_text(at))
    for start in range(0, len(ids), UNITS_A_TURN):
        with database.writing() as store:
            places = {place.id: place for place in store.units.places_of(ids[start : start + UNITS_A_TURN])}
            for unit_id, log in store.unit_logs.of(list(places)):
                search(store, places[unit_id], log, at)
        gap()
    return len(ids)


def search_of_the_day(database: FleetDatabase, at: datetime, gap: Callable[[], None]) -> int | None:
    """Search the fleet once a day, by the day in UTC; how many units, None where it was done before.

    The ledger is written at the end: a search that was stopped is done again, which changes nothing that was found.
    """
    day = at.astimezone(UTC).date().isoformat()
    with database.reading() as store:
        if store.jobs_done.done(JOB, day):
            return None
    searched = search_fleet(database, at, gap)
    with database.writing() as store:
        store.jobs_done.claim(JOB, day, to_text(at))
    return searched


def found_by(history: FailureHistory, as_of: date, figures: str | None) -> tuple[RootCauseFound, ...]:
    """What is found in a history by a day, weighed by figures learned from the fleet; by the defaults without any."""
    from service.domain.root_causes.engine import root_causes_of  # it needs scipy

    return root_causes_of(history, baselines_of(figures), as_of)


@lru_cache(maxsize=4)
def baselines_of(figures: str | None) -> "Baselines":
    """What was learned from the fleet, read from the text that keeps it; the defaults without any."""
    from service.domain.root_causes import baselines, baselines_json

    return baselines.defaults() if figures is None else baselines_json.from_json(figures)


def remember(
    store: Store,
    place: Place,
    history: FailureHistory,
    known: dict[str, RootCause],
    *,
    found: Sequence[RootCauseFound],
    at: datetime,
) -> list[RootCause]:
    """Store what was found at a unit, and return all its root causes as they now stand.

    Of those found no more an undecided one is withdrawn, which the audit trail shows; one that was decided on stays.
    One that changed on a later day is left alone: the clock was set back, and this search knows less.
    """
    today = local_day(at, place.time_zone)
    left = dict(known)
    now = [left.pop(kind) for kind, each in known.items() if local_day(each.updated_at, place.time_zone) > today]
    newer = {each.kind for each in now}
    for each in found:
        if each.component_kind in newer:
            continue
        former = left.pop(each.component_kind, None)
        if former is None:
            new = as_root_cause(each, at)
            now.append(replace(new, id=store.root_causes.add(new, place)))
        else:
            now.append(_again(store, former, each, history, at))
    decided_on = (_no_more(store, former, history, at) for former in left.values())
    return sorted([*now, *filter(None, decided_on)], key=lambda each: each.kind)


def _again(store: Store, former: RootCause, found: RootCauseFound, history: FailureHistory, at: datetime) -> RootCause:
    fresh = replace(as_root_cause(found, at), after_remedy=_after_remedy(former, history))
    now = found_again(former, fresh, last_failure=max(event.earliest or event.day for event in found.events))
    if now != former:
        store.root_causes.save(now)
    if now.state != former.state:
        audit.changed(store, _searcher(at), "root_cause", _key(now), before=_decision(former), after=_decision(now))
    return now


def _searcher(at: datetime) -> Actor:
    return Actor("search for root causes", "program", None, at)


def _no_more(store: Store, former: RootCause, history: FailureHistory, at: datetime) -> RootCause | None:
    now = found_no_more(former, after_remedy=_after_remedy(former, history), at=at)
    if now is None:
        store.root_causes.drop(former)
        figures = {"tier": former.tier, "probability_of_chance": former.probability_of_chance}
        before = orjson.dumps(figures | {"evidence": former.evidence_key}).decode()
        audit.record(
            store, _searcher(at), action="withdrawn", resource="root_cause", key=_key(former), before=before, after=None
        )
    elif now != former:
        store.root_causes.save(now)
    return now


def as_root_cause(found: RootCauseFound, at: datetime) -> RootCause:
    """What was found as an open root cause, first seen now."""
    return RootCause(
        unit=found.unit,
        kind=found.component_kind,
        tier=found.tier,
        probability_of_chance=found.probability_of_chance,
        document=orjson.dumps(to_plain(found)).decode(),
        evidence_key=found.evidence_key,
        first_seen=at,
        updated_at=at,
    )


def _after_remedy(root_cause: RootCause, history: FailureHistory) -> str | None:
    if root_cause.resolved_on is None:
        return None
    from service.domain.root_causes.after_remedy import after_remedy

    return orjson.dumps(after_remedy(history, root_cause.kind, root_cause.resolved_on)).decode()


def at_unit(store: Store, tag: str) -> list[RootCause]:
    """The root causes of a unit that nobody dismissed."""
    return [each for each in store.root_causes.of(tag) if each.state != "dismissed"]


def as_known(
    store: Store, wanted: RootCauseFilter, day: date, *, at: datetime, after: KnownPosition, limit: int
) -> tuple[list[RootCause], KnownPosition | None]:
    """Root causes computed from what was recorded by a day's end, not stored; behind which position more may be.

    They are weighed by what had been learned from the fleet by then. Goes through so many units at most, so that a part
    may hold fewer than asked for and yet not be the last.
    """
    units = store.failures.twice(
        day.isoformat(), after=after[0], most=UNITS_A_PAGE + 1, customer_code=wanted.customer, tag=wanted.unit
    )
    found: list[tuple[KnownPosition, RootCause]] = []
    for unit_id, log in store.unit_logs.of(units[:UNITS_A_PAGE]):
        end = end_of_day(day, log.time_zone)
        history = history_of(log.as_of(end).known_at(end), day)
        learned = store.baselines.latest_by(to_text(end))
        own = [as_root_cause(each, at) for each in found_by(history, day, learned)]
        found += [((unit_id, each.kind), each) for each in own if wanted.tier in (None, each.tier)]
        found = [each for each in found if each[0] > after]
        if len(found) > limit:
            return [each for _, each in found[:limit]], found[limit - 1][0]
    return [each for _, each in found], ((units[-1], "") if len(units) > UNITS_A_PAGE else None)


def to_check(store: Store, unit_ids: Sequence[int]) -> dict[str, tuple[RootCauseCheck, ...]]:
    """What technicians are to check at these units because of root causes, by unit tag."""
    found: dict[str, tuple[RootCauseCheck, ...]] = {}
    for each in store.root_causes.to_check(unit_ids):
        found[each.unit] = (*found.get(each.unit, ()), _check(each))
    return found


def _check(root_cause: RootCause) -> RootCauseCheck:
    found = in_words(orjson.loads(root_cause.document))
    return RootCauseCheck(
        id=root_cause.id,
        unit=root_cause.unit,
        component_kind=root_cause.kind,
        tier=root_cause.tier,
        state=root_cause.state,
        cause=found["causes"][0]["cause"],
        next_check=found["next_check"],
        bring=tuple(found["bring"]),
    )


def to_decide(store: Store, identity: int) -> RootCause:
    """A root cause that somebody is about to decide on, other writers of its unit kept waiting."""
    store.units.place(store.root_causes.get(identity).unit, to_write=True)
    return store.root_causes.get(identity)


def decide(store: Store, actor: Actor, former: RootCause, *, state: str, note: str) -> RootCause:
    """Confirm, dismiss or resolve a root cause that was read as `former`; see `life_cycle.decided`."""
    place = store.units.place(former.unit)
    today = local_day(actor.at, place.time_zone)
    now = decided(former, state, note, by=actor.name, at=actor.at, today=today)
    history = history_of(store.unit_logs.get(place.id, place.log_version), today)
    now = replace(now, after_remedy=_after_remedy(now, history))
    store.root_causes.save(now)
    audit.changed(store, actor, "root_cause", _key(now), before=_decision(former), after=_decision(now))
    return now


def _key(root_cause: RootCause) -> str:
    return f"{root_cause.unit}/{root_cause.kind}"


def _decision(root_cause: RootCause) -> dict[str, Any]:
    return {"state": root_cause.state, "note": root_cause.why}
