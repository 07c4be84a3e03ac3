"""Years of units for letters: worked out from a unit's history once, then kept until something is recorded.

What a year follows from is its basis, of which a mark is kept beside it; a year with another mark is not used. So
nothing has to be thrown away when a record changes. What depends on the day is not kept (`KeptYear.on_day`).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from functools import cache
from hashlib import sha256
from pathlib import Path

from service.domain.instants import FIRST_YEAR, end_of_day, local_day, to_text
from service.domain.maintenance.tasks import CONDITION
from service.domain.record.unit_log import UnitLog
from service.domain.root_causes.life_cycle import RootCause
from service.domain.summary.former_year import former_year
from service.domain.summary.kept_year import kept_year
from service.domain.summary.settings import ShopTasks
from service.domain.summary.unit_record import UnitRecord
from service.domain.summary.unit_year import UnitYear
from service.domain.summary.window import Window, window_of
from service.storage.store import Store
from service.storage.unit_years import Asked, Content, Made, row_of
from service.storage.year_cache import Row, YearCache
from service.usecases.system import FleetDatabase

CODE = ("domain", "storage", "usecases")  # folders of all that a year follows from
UNITS_A_TURN = 20


@cache
def layout() -> str:
    """A mark of the code that works out and packs a year."""
    here, mark = Path(__file__).parents[2], sha256()
    for path in sorted(path for folder in CODE for path in (here / folder).rglob("*.py")):
        mark.update(path.read_bytes())
    return mark.hexdigest()


class Basis:
    """What the years of a customer's units follow from, beside each unit's own history and root causes."""

    def __init__(self, store: Store, shop: ShopTasks, year: int) -> None:
        self._store, self._shop, self.year, self.as_of = store, shop, year, shop.as_of
        self._by_zone: dict[str, tuple[Window, str]] = {}

    def window(self, zone: str) -> Window:
        """The days of the year that have passed."""
        return self._of_zone(zone)[0]

    def mark(self, unit: Asked, stood: Sequence[RootCause]) -> str:
        """The mark for a unit whose root causes stood so."""
        causes = [replace(each, updated_at=each.first_seen, version=0, id=0) for each in stood]
        return _mark(self._of_zone(unit.zone)[1], unit.version, causes)

    def _of_zone(self, zone: str) -> tuple[Window, str]:
        if zone not in self._by_zone:
            window = window_of(self.year, self.as_of, zone)
            weighed = self._weighed_by(end_of_day(date(self.year, 12, 31), zone))
            mark = _mark(layout(), self._shop.text, self._shop.learned_before(window, zone), weighed)
            self._by_zone[zone] = window, mark
        return self._by_zone[zone]

    def _weighed_by(self, end: datetime) -> str | None:
        """When what weighs root causes of a year that is over was learned; see `past_root_causes`."""
        return self._store.baselines.learned_by(to_text(end)) if self.as_of >= end else None


def _mark(*parts: object) -> str:
    return sha256(repr(parts).encode("utf-8", "surrogatepass")).hexdigest()


def found(store: Store, units: Sequence[Asked], marks: Mapping[int, str], basis: Basis) -> dict[int, Made]:
    """The kept years of units by the mark of each."""
    windows = {unit.zone: basis.window(unit.zone) for unit in units}
    return store.unit_years.found(units, marks, basis.year, basis.as_of, windows)


def keep(store: Store, unit: Asked, mark: str, record: UnitRecord, worked_out: UnitYear) -> Made:
    """What is made of a year that was worked out, and of the one before; it is kept where no later hour changes it."""
    window, as_of = worked_out.window, record.shop.as_of
    year = window.first.year
    lasts = _is_over(window, year) or _lasts(record, worked_out)
    years = [year, year - 1] if year > FIRST_YEAR else [year]
    content = Content(year=kept_year(worked_out), former=former_year(record.part(years[1])) if len(years) > 1 else None)
    made = Made(mark, as_of, None if lasts else window.deadline, content)
    if settled(record.recorded, as_of) and all(record.is_decided(each) for each in years):
        store.unit_years.cache.put(unit.id, year, made, new=True)
    return made


def store_made(database: FleetDatabase) -> int:
    """Put what was made since the last time into the database, a few units a transaction; how many there were."""
    with database.reading() as store:
        kept = store.unit_years.cache
    count = 0
    while some := kept.next_rows(UNITS_A_TURN, row_of):  # packed before the transaction: nobody is to wait for it
        with database.writing() as store:
            store.unit_years.store(list(some.values()))
        kept.stored(some)
        count += len(some)
    return count


def hand_over(kept: YearCache[Made]) -> list[Row]:
    """The rows of what a process made that does not store them itself."""
    rows: list[Row] = []
    while some := kept.next_rows(UNITS_A_TURN, row_of):
        kept.stored(some)
        rows += some.values()
    return rows


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
    yield from (each.at for each in log.former_tags)
    yield from _changed_at(log)


def _changed_at(log: UnitLog) -> Iterator[datetime]:
    """When settings and dated facts were changed: what was before holds until the day is over."""
    yield from (each.at for each in log.setting_changes)
    yield from (each.at for changes in (log.facts.unit, *log.facts.sites.values()) for each in changes)


def _is_over(window: Window, year: int) -> bool:
    return window.deadline == date(year + 1, 1, 1)


def _lasts(record: UnitRecord, year: UnitYear) -> bool:
    """Whether a later day of a year under way changes nothing but what `KeptYear.on_day` works out.

    No part of its care begins or ends later, nothing was set or changed on this day, no date follows from a forecast,
    and no remedy is followed up.
    """
    log, shop = record.recorded, record.shop
    today = local_day(shop.as_of, log.time_zone)
    ends = (log.unit.retired_on, log.site.ended_on, log.customer_ended_on)
    begins = (log.unit.installed_on, log.unit.registered_on, *(each.since for each in log.planned.values()))
    done = (each.earliest for each in log.unit.last_done)
    changes = (*_changed_at(log), *(each.at for changes in shop.changes.values() for each in changes))
    return (
        all(each is None or each < today for each in ends)  # on the next day an outage ends with a unit's service
        and all(each is None or each <= today for each in (*begins, *done))
        and all(local_day(each, log.time_zone) < today for each in changes)
        and all(task.rule != CONDITION for task in record.part(year.window.first.year).cut.tasks.tasks)
        and all(each.line.resolved_on is None for each in year.root_causes)
    )
