"""Years of units as letters show them: in memory while they are asked for again, in the database for later."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import NamedTuple

from sqlalchemy import bindparam, select
from sqlalchemy.dialects import postgresql, sqlite

from service.domain.instants import from_text, to_text
from service.domain.packed import packed, unpacked
from service.domain.summary.former_year import FormerYear
from service.domain.summary.kept_year import InWindow, KeptYear
from service.domain.summary.window import Window
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.tables import site, unit, unit_year
from service.storage.unit_log import OF_CUSTOMER, among, id_text
from service.storage.year_cache import Row, YearCache

KEEP = Statement(
    {
        name: (insert := dialect.insert(unit_year))
        .values({column.name: bindparam(column.name) for column in unit_year.c})
        .on_conflict_do_update(
            index_elements=["unit_id", "year"],
            set_={name: insert.excluded[name] for name in ("basis", "since", "day", "made")},
        )
        for name, dialect in {"sqlite": sqlite, "postgresql": postgresql}.items()
    }
)
FORGET = Statement(unit_year.delete().where(unit_year.c.since < bindparam("before")))
COLUMNS = (unit_year.c.unit_id, unit_year.c.basis, unit_year.c.since, unit_year.c.day, unit_year.c.made)
KEPT = {
    name: Statement(select(*COLUMNS).where(among(unit_year.c.unit_id, name), unit_year.c.year == bindparam("year")))
    for name in ("sqlite", "postgresql")
}
ASKED = {
    name: Statement(
        select(unit.c.id, unit.c.tag, unit.c.log_version, site.c.time_zone)
        .select_from(unit.join(site, site.c.id == unit.c.site_id))
        .where(among(unit.c.id, name))
        .order_by(unit.c.tag)
    )
    for name in ("sqlite", "postgresql")
}


class Asked(NamedTuple):
    """A unit, the version of its history, and its site's time zone."""

    id: int
    tag: str
    version: int
    zone: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """A unit's year, and the figures of the one before."""

    year: KeptYear
    former: FormerYear | None


@dataclass(slots=True)
class Made:
    """What was made of a unit's year by all in `basis`, of which that is a mark; it holds from `since` on.

    With a `day` it holds in windows with that deadline alone. `shown` is the year in the window last asked for.
    """

    basis: str
    since: datetime
    day: date | None
    content: Content
    shown: InWindow | None = None

    def holds(self, basis: str, as_of: datetime, window: Window) -> bool:
        """Whether it is what would be made of a basis at an instant."""
        return _holds((self.basis, self.since, self.day), basis, as_of, window)

    def in_window(self, window: Window) -> InWindow:
        """The year in a window; of the one last asked for it is made once."""
        shown = self.shown
        if shown is None or shown.window != window:
            self.shown = shown = InWindow(self.content.year, window, self.content.year.on_day(window))
        return shown


def _holds(kept: tuple[str, datetime, date | None], basis: str, as_of: datetime, window: Window) -> bool:
    """Whether what is kept under basis, since and day is what would be made of a basis at an instant."""
    of, since, day = kept
    return of == basis and since <= as_of and day in (None, window.deadline)


def row_of(unit_id: int, year: int, made: Made) -> Row:
    """The row that keeps a unit's year."""
    return {
        "unit_id": unit_id,
        "year": year,
        "basis": made.basis,
        "since": to_text(made.since),
        "day": None if made.day is None else made.day.isoformat(),
        "made": packed(made.content),
    }


class UnitYears:
    """Kept years as one transaction sees them."""

    def __init__(self, link: Link, cache: YearCache[Made]) -> None:
        self.link, self.cache = link, cache

    def of_customer(self, code: str) -> list[Asked]:
        """The units that are, were or are to be a customer's, in the order of their tags."""
        ids = [row[0] for row in self.link.rows(OF_CUSTOMER, code=code)]
        return [Asked(*row) for row in self.link.rows(ASKED[self.link.dialect], ids=id_text(ids))]

    def found(
        self,
        asked: Sequence[Asked],
        bases: Mapping[int, str],
        year: int,
        as_of: datetime,
        windows: Mapping[str, Window],
    ) -> dict[int, Made]:
        """The years of units that hold at an instant by their bases, from memory or the database; windows by zone."""
        found: dict[int, Made] = {}
        missing: dict[int, Asked] = {}
        for each in asked:
            made = self.cache.get(each.id, year)
            if made is not None and made.holds(bases[each.id], as_of, windows[each.zone]):
                found[each.id] = made
            else:
                missing[each.id] = each
        rows = self.link.rows(KEPT[self.link.dialect], ids=id_text(missing), year=year) if missing else ()
        for unit_id, basis, since, day, text in rows:
            kept = basis, from_text(since), None if day is None else date.fromisoformat(day)
            if _holds(kept, bases[unit_id], as_of, windows[missing[unit_id].zone]):
                found[unit_id] = made = Made(*kept, unpacked(Content, text))
                self.cache.put(unit_id, year, made)
        return found

    def store(self, rows: Sequence[Row]) -> None:
        """Keep years, as `row_of` gives them, in the place of former ones."""
        self.link.run_many(KEEP, rows)

    def forget(self, before: datetime) -> None:
        """Drop what was made before an instant."""
        self.link.run(FORGET, before=to_text(before))
