"""Years of units that were worked out lately, used again on the same day while the unit's history is the same.

A letter is looked at, printed and handed out within minutes, and of a customer's units few change between two letters.
"""

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator
from datetime import datetime
from threading import Lock
from typing import Any, TypeVar

from service.domain.instants import local_day
from service.domain.record.unit_log import UnitLog
from service.domain.summary.outages import OPEN
from service.domain.summary.unit_record import UnitRecord

MOST = 500  # years of units
T = TypeVar("T")


class KeptYears:
    """What was worked out from a log, for that very log: one that was loaded anew finds nothing."""

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._kept: OrderedDict[tuple[Hashable, ...], tuple[UnitLog, Any]] = OrderedDict()
        self._lock = Lock()

    def get(self, record: UnitRecord, of: tuple[Hashable, ...], work: Callable[[], T]) -> T:
        """What `work()` gives, or gave for this log, `of` and the day; `of` is all else that it depends on."""
        log, as_of = record.log, record.shop.as_of
        if not settled(log, as_of):
            return work()
        key = (id(log), local_day(as_of, log.time_zone), *of)
        with self._lock:
            kept = self._kept.get(key)
            if kept is not None and kept[0] is log:
                self._kept.move_to_end(key)
                made: T = kept[1]
                return made
        return self._put(key, record, work())

    def _put(self, key: tuple[Hashable, ...], record: UnitRecord, made: T) -> T:
        if all(spell.ended != OPEN for spell in record.part(record.shop.as_of.year).cut.spells):
            with self._lock:
                self._kept[key] = (record.log, made)
                if len(self._kept) > self._most:
                    self._kept.popitem(last=False)
        return made


def settled(log: UnitLog, as_of: datetime) -> bool:
    """Whether all that a log holds had happened and was recorded by an instant: a later one of its day shows the same.

    Not where a move, a pause, a closure or a dated fact was recorded: then each instant has a log of its own.
    """
    if log.moves or log.pauses or log.closures or log.facts:
        return False
    return all(each <= as_of for each in _instants(log))


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
