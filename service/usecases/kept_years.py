"""Years of units that were worked out lately, used again while the unit's history is the same.

A letter is looked at, printed and handed out within minutes, and of a customer's units few change between two letters.
A year that is over stays; in the year under way each day is worked out anew, because what is overdue depends on it.
"""

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator
from datetime import datetime
from threading import Lock
from typing import Any, NamedTuple, TypeVar

from service.domain.instants import local_day
from service.domain.record.unit_log import UnitLog
from service.domain.summary.unit_record import UnitRecord
from service.domain.summary.window import window_of

MOST = 500  # years of units
T = TypeVar("T")


class _Kept(NamedTuple):
    """What was worked out from a log; it holds for every instant from `since` on that has the same days."""

    log: UnitLog
    since: datetime
    made: Any


class KeptYears:
    """What was worked out from a log, for that very log: one that was loaded anew finds nothing."""

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._kept: OrderedDict[tuple[Hashable, ...], _Kept] = OrderedDict()
        self._lock = Lock()

    def get(self, record: UnitRecord, year: int, of: tuple[Hashable, ...], work: Callable[[], T]) -> T:
        """What `work()` gives of a year, or gave for this log, these days of it and `of`, all else it depends on."""
        log, as_of = record.recorded, record.shop.as_of
        window = window_of(year, as_of, log.time_zone)
        key = (id(log), window, record.shop.basis(window, log.time_zone), *of)
        with self._lock:
            kept = self._kept.get(key)
            if kept is not None and kept.log is log and kept.since <= as_of:
                self._kept.move_to_end(key)
                found: T = kept.made
                return found
        made = work()
        if settled(log, as_of) and record.is_decided(year):
            with self._lock:
                self._kept[key] = _Kept(log, as_of, made)
                if len(self._kept) > self._most:
                    self._kept.popitem(last=False)
        return made


def settled(log: UnitLog, as_of: datetime) -> bool:
    """Whether all that a log holds had happened and was recorded by an instant: a later one shows the same.

    Not where the unit was moved: then its years are those of its stays.
    """
    if log.moves:
        return False
    today = local_day(as_of, log.time_zone)
    texts = (text for pause in (*log.pauses, *log.closures) for text in pause.texts)
    return all(text.at <= as_of and text.first <= today for text in texts) and all(
        each <= as_of for each in _instants(log)
    )


def _instants(log: UnitLog) -> Iterator[datetime]:
    for visit in (*log.all_visits, *log.moved_away):
        yield visit.arrived_at
        yield visit.posted_at
        if visit.left_at is not None:
            yield visit.left_at
        if visit.void is not None:
            yield visit.void.at
        if visit.complaint is not None and visit.complaint.reported_at is not None:
            yield visit.complaint.reported_at
        yield from (reading.at for reading in visit.readings if reading.at is not None)
    for call in log.calls:
        yield from (each for each in (call.received_at, call.posted_at, call.at) if each is not None)
    yield from (made.at for corrections in log.corrections.values() for made in corrections)
    yield from (each.at for each in log.setting_changes)
    yield from (each.at for each in log.former_tags)
    yield from (each.at for changes in (log.facts.unit, *log.facts.sites.values()) for each in changes)
