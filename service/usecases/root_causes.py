"""Search for what may lie behind repeated failures, keep what was found, and what was decided on it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import orjson

from service.domain.audit import Actor
from service.domain.instants import local_day, to_text
from service.domain.record.structure import take_apart
from service.domain.record.unit_log import UnitLog
from service.domain.root_causes.candidate import Candidate
from service.domain.root_causes.history import FailureHistory, history_of, may_have_failed_twice
from service.domain.root_causes.life_cycle import (
    Concern,
    RootCause,
    RootCauseFilter,
    decided,
    found_again,
    found_no_more,
)
from service.storage.root_causes import Position, position
from service.storage.store import Store
from service.storage.units import Place
from service.usecases import audit
from service.usecases.system import Book

if TYPE_CHECKING:
    from service.domain.root_causes.baselines import Baselines

__all__ = ["Position", "position"]

JOB = "root_causes"
UNITS_A_TURN = 10  # searched in one transaction: some tens of milliseconds
SUSPECTS_A_PAGE = 200
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
    return remember(store, place, history, known, found=_candidates(store, history, today), at=at)


def search_many(store: Store, places: Mapping[int, Place], at: datetime) -> None:
    """Search those of many units by identity that ask for it; the histories of the others are not loaded."""
    for key, log in store.unit_logs.of(store.failures.to_search(list(places))):
        search(store, places[key], log, at)


def search_fleet(book: Book, at: datetime, gap: Callable[[], None]) -> int:
    """Learn from the fleet, and search the units whose cases have changed; how many there were.

    Few units a transaction, with a gap after each, so that visits get through.
    """
    from service.usecases import failure_statistics  # it needs scipy

    renewed = failure_statistics.renew(book, at, gap)
    with book.reading() as store:
        baselines = failure_statistics.taught(store, at)
        ids = failure_statistics.to_search(store, baselines, at, every_case=renewed)
    with book.writing() as store:
        store.baselines.keep(failure_statistics.kept(baselines), to_text(at))
    for start in range(0, len(ids), UNITS_A_TURN):
        with book.writing() as store:
            places = {place.id: place for place in store.units.places_of(ids[start : start + UNITS_A_TURN])}
            for unit_id, log in store.unit_logs.of(list(places)):
                search(store, places[unit_id], log, at)
        gap()
    return len(ids)


def search_of_the_day(book: Book, at: datetime, gap: Callable[[], None]) -> int | None:
    """Search the fleet once a day, by the day in UTC; how many units, None where it was done before.

    The ledger is written at the end: a search that was stopped is done again, which changes nothing that was found.
    """
    day = at.astimezone(UTC).date().isoformat()
    with book.reading() as store:
        if store.jobs_done.done(JOB, day):
            return None
    searched = search_fleet(book, at, gap)
    with book.writing() as store:
        store.jobs_done.claim(JOB, day, to_text(at))
    return searched


def _candidates(store: Store, history: FailureHistory, as_of: date) -> tuple[Candidate, ...]:
    from service.domain.root_causes.engine import candidates_of  # it needs scipy

    return candidates_of(history, baselines_of(store), as_of)


def baselines_of(store: Store) -> "Baselines":
    """What the fleet taught, the defaults before that."""
    return _baselines(store.baselines.latest())


@lru_cache(maxsize=2)
def _baselines(figures: str | None) -> "Baselines":
    from service.domain.root_causes import baselines, baselines_json

    return baselines.defaults() if figures is None else baselines_json.from_json(figures)


def remember(
    store: Store,
    place: Place,
    history: FailureHistory,
    known: dict[str, RootCause],
    *,
    found: Sequence[Candidate],
    at: datetime,
) -> list[RootCause]:
    """Store the candidates found at a unit, and return all its cases as they now stand.

    Of those found no more an undecided one is withdrawn, which the audit trail tells; one that was decided on stays.
    A case that changed on a later day is left alone: the clock was set back, and this search knows less than it.
    """
    today = local_day(at, place.time_zone)
    cases = [
        known.pop(case.kind) for case in list(known.values()) if local_day(case.updated_at, place.time_zone) > today
    ]
    for candidate in (each for each in found if each.component_kind not in {case.kind for case in cases}):
        former = known.pop(candidate.component_kind, None)
        if former is None:
            case = case_of(candidate, at)
            cases.append(replace(case, id=store.root_causes.add(case, place)))
        else:
            cases.append(_again(store, former, candidate, history, at))
    left = [_no_more(store, former, history, at) for former in known.values()]
    return sorted([*cases, *filter(None, left)], key=lambda case: case.kind)


def _again(store: Store, former: RootCause, candidate: Candidate, history: FailureHistory, at: datetime) -> RootCause:
    found = replace(case_of(candidate, at), after_remedy=_after_remedy(former, history))
    case = found_again(former, found, last_failure=max(event.day for event in candidate.events))
    if case != former:
        store.root_causes.save(case)
    if case.state != former.state:
        audit.changed(store, _searcher(at), "root_cause", _key(case), before=_decision(former), after=_decision(case))
    return case


def _searcher(at: datetime) -> Actor:
    return Actor("search for root causes", "program", None, at)


def _no_more(store: Store, former: RootCause, history: FailureHistory, at: datetime) -> RootCause | None:
    case = found_no_more(former, after_remedy=_after_remedy(former, history), at=at)
    if case is None:
        store.root_causes.drop(former)
        told = {"tier": former.tier, "luck_probability": former.luck_probability, "evidence": former.evidence_key}
        before = orjson.dumps(told).decode()
        audit.record(
            store, _searcher(at), action="withdrawn", noun="root_cause", key=_key(former), before=before, after=None
        )
    elif case != former:
        store.root_causes.save(case)
    return case


def case_of(candidate: Candidate, at: datetime) -> RootCause:
    """A candidate as an open case, first seen now."""
    return RootCause(
        unit=candidate.unit,
        kind=candidate.component_kind,
        tier=candidate.tier,
        luck_probability=candidate.luck_probability,
        document=orjson.dumps(take_apart(candidate, _leaf)).decode(),
        evidence_key=candidate.evidence_key,
        first_seen=at,
        updated_at=at,
    )


def _leaf(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value


def _after_remedy(case: RootCause, history: FailureHistory) -> str | None:
    if case.resolved_on is None:
        return None
    from service.domain.root_causes.after_remedy import after_remedy

    return orjson.dumps(after_remedy(history, case.kind, case.resolved_on)).decode()


def cases(store: Store, wanted: RootCauseFilter, *, after: Position | None, limit: int) -> list[RootCause]:
    """Cases behind a position: open ones first, the graver and least lucky before the others."""
    return store.root_causes.page(wanted, after=after, limit=limit)


def at_unit(store: Store, tag: str) -> list[RootCause]:
    """The cases of a unit that nobody dismissed."""
    return [case for case in store.root_causes.of(tag) if case.state != "dismissed"]


def as_known(
    store: Store, wanted: RootCauseFilter, day: date, *, at: datetime, after: KnownPosition, limit: int
) -> tuple[list[RootCause], KnownPosition | None]:
    """Candidates as the record up to a day tells them, computed and not stored, and behind which position more may be.

    Goes through so many units at most, so that a part may hold fewer cases than asked for and yet not be the last.
    """
    units = store.failures.twice(
        day.isoformat(), after=after[0], most=SUSPECTS_A_PAGE + 1, customer_code=wanted.customer, tag=wanted.unit
    )
    found: list[tuple[KnownPosition, RootCause]] = []
    for unit_id, log in store.unit_logs.of(units[:SUSPECTS_A_PAGE]):
        told = [case_of(each, at) for each in _candidates(store, history_of(log, day), day)]
        found += [((unit_id, case.kind), case) for case in told if wanted.tier in (None, case.tier)]
        found = [each for each in found if each[0] > after]
        if len(found) > limit:
            return [case for _, case in found[:limit]], found[limit - 1][0]
    return [case for _, case in found], ((units[-1], "") if len(units) > SUSPECTS_A_PAGE else None)


def concerns(store: Store, unit_ids: Sequence[int]) -> dict[str, tuple[Concern, ...]]:
    """What technicians shall look into at these units, by unit tag."""
    found: dict[str, tuple[Concern, ...]] = {}
    for case in store.root_causes.pressing(unit_ids):
        found[case.unit] = (*found.get(case.unit, ()), _concern(case))
    return found


def _concern(case: RootCause) -> Concern:
    told = orjson.loads(case.document)
    return Concern(
        case=case.id,
        unit=case.unit,
        component_kind=case.kind,
        tier=case.tier,
        state=case.state,
        cause=told["causes"][0]["cause"],
        next_check=told["next_check"],
        bring=tuple(told["bring"]),
    )


def to_decide(store: Store, identity: int) -> RootCause:
    """A case that somebody is about to decide on, other writers of its unit kept waiting."""
    store.units.place(store.root_causes.get(identity).unit, to_write=True)
    return store.root_causes.get(identity)


def decide(store: Store, actor: Actor, former: RootCause, *, state: str, note: str) -> RootCause:
    """Confirm, dismiss or resolve a case that was read as `former`; see `domain.root_causes.decided`."""
    place = store.units.place(former.unit)
    today = local_day(actor.at, place.time_zone)
    case = decided(former, state, note, by=actor.name, at=actor.at, today=today)
    history = history_of(store.unit_logs.get(place.id, place.log_version), today)
    case = replace(case, after_remedy=_after_remedy(case, history))
    store.root_causes.save(case)
    audit.changed(store, actor, "root_cause", _key(case), before=_decision(former), after=_decision(case))
    return case


def _key(case: RootCause) -> str:
    return f"{case.unit}/{case.kind}"


def _decision(case: RootCause) -> dict[str, Any]:
    return {"state": case.state, "note": case.why}
