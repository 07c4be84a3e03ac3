"""What the fleet shows of how its units drift and foul and which parts fail, learned from a sample by night."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, replace
from datetime import UTC, datetime
from functools import lru_cache
from operator import itemgetter
from typing import Any

import orjson

from service.domain.condition.learned import NOTHING_LEARNED, Learned
from service.domain.condition.parts import Experience, PartsSeen
from service.domain.instants import from_text, to_text
from service.domain.maintenance.fouling import Fouling
from service.domain.plain import from_plain
from service.domain.record.unit_log import UnitLog
from service.domain.statistics.drift import Drift
from service.storage.store import Store
from service.usecases.system import FleetDatabase

JOB = "learn_drifts"
SAMPLE = 400  # units, evenly over all identities
UNITS_AT_ONCE = 50
NOTICEABLE = 0.1  # a rate that moved by less is not worth new due dates


def learned_now(store: Store) -> Learned:
    """What is in force."""
    return learned_of(store.learned.latest())


def learned_by(store: Store, instant: datetime) -> Learned:
    """What was in force at an instant."""
    return learned_of(store.learned.latest_by(to_text(instant)))


def learned_until(store: Store, instant: datetime) -> tuple[Callable[[datetime], Learned], tuple[datetime, ...]]:
    """What was in force at each instant up to this one, and the instants at which that changed."""
    until = to_text(instant)
    kept = [(at, figures) for figures, at in store.learned.everyones() if at <= until]

    def learned(then: datetime) -> Learned:
        place = bisect_right(kept, to_text(then), key=itemgetter(0))
        return learned_of(kept[place - 1][1] if place else None)

    return learned, tuple(from_text(at) for at, _ in kept)


@lru_cache(maxsize=64)
def learned_of(text: str | None) -> Learned:
    """What was learned, read from the text that keeps it; nothing without one."""
    if text is None:
        return NOTHING_LEARNED
    kept = orjson.loads(text)
    return Learned(
        {name: from_plain(Drift, each) for name, each in kept["drifts"].items()},
        {name: from_plain(Fouling, each) for name, each in kept["fouling"].items()},
        tuple(from_plain(PartsSeen, each) for each in kept.get("parts", ())),
    )


def text_of(learned: Learned) -> str:
    """The text that keeps it; one from before parts were counted stays as it is."""
    kept: dict[str, Any] = {
        "drifts": {name: asdict(each) for name, each in sorted(learned.drifts.items())},
        "fouling": {name: asdict(each) for name, each in sorted(learned.fouling.items())},
    }
    if learned.parts:
        kept["parts"] = [asdict(each) for each in learned.parts]
    return orjson.dumps(kept).decode()


def learn_of_the_day(database: FleetDatabase, at: datetime) -> bool:
    """Learn from the fleet once a day, by the day in UTC; whether new figures are in force.

    They are put in force where they differ noticeably: then the due dates that follow from them are calculated anew.
    """
    day = at.astimezone(UTC).date().isoformat()
    with database.reading() as store:
        if store.jobs_done.done(JOB, day):
            return False
        former, found = learned_now(store), learned_from_fleet(store)
    if not noticeably(former, found):
        found = replace(former, parts=found.parts)  # no due date moves for the sake of parts
    differ = noticeably(former, found) or _parts_differ(former, found)
    with database.writing() as store:
        if differ:
            keep(store, text_of(found), to_text(at))
        store.jobs_done.claim(JOB, day, to_text(at))
    return differ


def keep(store: Store, text: str, learned_at: str) -> None:
    """Put figures in force; where due dates follow from them, units with a rule of their own are calculated anew.

    Where all units have such a rule, all are, by what `of_dates` gives.
    """
    moved = of_dates(text) != of_dates(store.learned.latest())
    store.learned.add(text, learned_at)
    if moved:
        store.units.forget_due_state(store.task_settings.units_with_rules())


@lru_cache(maxsize=8)
def of_dates(text: str | None) -> str | None:
    """What was learned of it by which due dates are calculated."""
    return None if text is None else text_of(replace(learned_of(text), parts=()))


@lru_cache(maxsize=8)
def of_fouling(text: str | None) -> str | None:
    """What was learned of it by which due dates are calculated where none goes by readings."""
    return None if text is None else text_of(Learned(fouling=learned_of(text).fouling))


def take(store: Store, line: Mapping[str, Any]) -> str:
    """Keep figures by a line of a file: "added", or "unchanged" where there are any of that instant."""
    learned_at = to_text(line["learned_at"])
    if any(at == learned_at for _, at in store.learned.everyones()):
        return "unchanged"
    given = {"drifts": line["drifts"], "fouling": line["fouling"], "parts": line.get("parts", ())}
    keep(store, text_of(learned_of(orjson.dumps(given).decode())), learned_at)
    return "added"


def learned_from_fleet(store: Store) -> Learned:
    """What the units of the sample show."""
    from service.domain.condition.learning import learned_from  # it needs numpy

    return learned_from(_sample(store))


def experience(store: Store) -> Experience:
    """How often parts were replaced at visits, as learned by night; before the first night, of the sample as it is."""
    parts = learned_now(store).parts
    if parts:
        return Experience.of(parts)
    found = Experience()
    for log in _sample(store):
        found.add(log)
    return found


def _sample(store: Store) -> Iterator[UnitLog]:
    ids = store.units.sample(SAMPLE)
    for start in range(0, len(ids), UNITS_AT_ONCE):
        for _, log in store.unit_logs.of(ids[start : start + UNITS_AT_ONCE]):
            yield log


def noticeably(former: Learned, found: Learned) -> bool:
    """Whether a rate, or a time to heavy fouling, has moved by more than a tenth, or is new."""
    return _moved(_rates(former), _rates(found))


def _parts_differ(former: Learned, found: Learned) -> bool:
    """The same of how often parts of each kind fail."""
    return _moved(_failures(former), _failures(found))


def _moved(before: Mapping[str, float], after: Mapping[str, float]) -> bool:
    moved = (abs(after[name] / before[name] - 1.0) > NOTICEABLE for name in after.keys() & before.keys())
    return before.keys() != after.keys() or any(moved)


def _rates(learned: Learned) -> Mapping[str, float]:
    rates: dict[str, float] = defaultdict(float)
    for name, drift in learned.drifts.items():
        rates[f"{name} slope"], rates[f"{name} spread"] = drift.slope, drift.spread
        rates[f"{name} noise"] = drift.noise
        rates[f"{name} moves"] = 1.0 - drift.steady + 0.01
    for name, fouling in learned.fouling.items():
        rates[f"{name} median"], rates[f"{name} between"] = fouling.median, fouling.between
    return rates


def _failures(learned: Learned) -> Mapping[str, float]:
    """How often a part of each kind is replaced at a visit, with one at 20 visits more: few visits move little."""
    seen = Experience.of(learned.parts)
    whole = {kind: seen.like(kind) for kind in sorted({each.kind for each in learned.parts})}
    return {kind: (each.replaced + 1.0) / (each.visits + 20.0) for kind, each in whole.items()}
