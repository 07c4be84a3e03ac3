"""One unit's record as the years of its letters are worked out from it; what no year changes is worked out once."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

from service.domain.record.care import Care
from service.domain.record.locations import INSTANT, Location, Stay
from service.domain.record.part_replaced import PartReplaced
from service.domain.record.unit_log import Performed, UnitLog
from service.domain.record.visits import Visit
from service.domain.summary.outages import Spell, spells_of
from service.domain.summary.settings import ShopTasks, UnitTasks, unit_tasks
from service.domain.summary.window import Window, window_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """The record up to an instant while a unit stands somewhere.

    In `log` the dated facts are as they were recorded at the window's end, in `dated` each of their changes is there.
    `visits`, `replaced` and `spells` are those of the stay, `performed` is the unit's whole record.
    """

    dated: UnitLog
    log: UnitLog
    care: Care
    tasks: UnitTasks
    visits: tuple[Visit, ...]
    performed: tuple[Performed, ...]
    replaced: tuple[PartReplaced, ...]
    spells: tuple[Spell, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """The part of a year that a unit spent somewhere, and the record that it is worked out from."""

    cut: Cut
    window: Window
    moved_in_on: date | None = None
    moved_out_on: date | None = None


class UnitRecord:
    """A unit's log up to the shop's `as_of`."""

    def __init__(self, recorded: UnitLog, shop: ShopTasks) -> None:
        """`recorded` is the unit's with all that was recorded since, too."""
        self.recorded, self.shop = recorded, shop
        self._same: Cut | None = None

    @cached_property
    def log(self) -> UnitLog:
        """The log as it was recorded by `as_of`; how tasks were set on each day the year itself works out."""
        log, as_of = self.recorded, self.shop.as_of
        later = (
            any(visit.posted_at > as_of for visit in (*log.all_visits, *log.moved_away)),
            any(visit.void is not None and visit.void.at > as_of for visit in log.all_visits),
            any(made.at > as_of for each in log.corrections.values() for made in each),
            any(call.posted_at > as_of for call in log.calls),
            bool(log.moves or log.pauses or log.closures),
        )
        if not any(later):
            return log.facts_at(as_of)
        return replace(log.known_at(as_of), settings=log.settings, setting_changes=log.setting_changes)

    def is_decided(self, year: int) -> bool:
        """Whether no outage of the record up to a year is taken as over in a later hour, because nobody complains."""
        return all(spell.stays(self.shop.as_of) for spell in self.part(year).cut.spells)

    def part(self, year: int, stay: Stay | None = None) -> Part:
        """The part of a year in which the unit stood at a stay; without one the whole year."""
        if stay is None:
            window = window_of(year, self.shop.as_of, self.log.time_zone)
            return Part(cut=self._whole(window), window=window)
        there, ended = stay.site_in(year, self.shop.as_of), stay.ends is not None and stay.ends <= self.shop.as_of
        dated = _up_to(self.log, self.shop, stay, there)
        first, last = stay.first_day, stay.last_day
        window = window_of(year, self.shop.as_of, dated.time_zone).within(first, last)
        out = last if ended and last is not None and last <= window.last else None
        return Part(cut=_cut(dated, self.shop, window, stay), window=window, moved_in_on=first, moved_out_on=out)

    def _whole(self, window: Window) -> Cut:
        """That of the whole record, which is the same for all years where no dated fact was changed."""
        if self.log.facts:
            return _cut(self.log.as_of(self.shop.as_of), self.shop, window, None)
        if self._same is None:
            self._same = _cut(self.log.as_of(self.shop.as_of), self.shop, window, None)
        return self._same


def parts_of(record: UnitRecord, year: int, stay: Stay | None) -> Iterator[Part]:
    """The part of a year that a unit spent at a stay, or the year where it is None; none where that has no day."""
    if stay is None:
        yield record.part(year)
    elif stay.site_in(year, record.shop.as_of) is not None:
        part = record.part(year, stay)
        if part.window.first <= part.window.last:
            yield part


def in_service(log: UnitLog, window: Window) -> bool:
    """Whether a unit was in service on some day of a window."""
    installed, out_from = log.unit.installed_on or date.min, log.care.out_from or date.max
    return installed <= window.last and out_from >= window.first and window.first <= window.last


def _up_to(log: UnitLog, shop: ShopTasks, stay: Stay, there: Location | None) -> UnitLog:
    """The log up to the end of a stay, at the last site of the stay in the year."""
    ends = stay.ends - INSTANT if stay.ends is not None and stay.ends <= shop.as_of else shop.as_of
    cut = log.as_of(ends)
    return cut if there is None else cut.standing_in(there)


def _cut(dated: UnitLog, shop: ShopTasks, window: Window, stay: Stay | None) -> Cut:
    log = dated.facts_on(window.plan_from)
    on_record = log.visits
    known = {visit.id for visit in on_record}
    visits, calls, first, last = on_record, log.calls, date.min, date.max
    if stay is not None:
        calls = tuple(call for call in log.calls if stay.holds(call.received_at))
        visits = tuple(visit for visit in on_record if stay.holds(visit.arrived_at))
        first, last = stay.first_day or first, stay.last_day or last
    return Cut(
        dated=dated,
        log=log,
        care=dated.care,
        tasks=unit_tasks(log, shop),
        visits=visits,
        performed=tuple(log.performed()),
        replaced=tuple(part for part in log.replaced() if part.visit in known and first <= part.on <= last),
        spells=spells_of(visits, log, log.until or shop.as_of, calls, None if stay is None else stay.ends),
    )
