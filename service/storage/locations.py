"""Units' dated locations, as they were recorded; a unit that was never moved has no rows."""

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any

from sqlalchemy import BindParameter, ColumnElement, Table, bindparam, case, select

from service.domain.errors import NotFound
from service.domain.instants import from_text, local_day, to_text
from service.domain.record.locations import Location, in_force, location_at
from service.domain.record.pauses import Pause
from service.storage.documents import day, day_text, read_many
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.fleet import SITE_IDS, SITES, read_site
from service.storage.keyed import insert_of
from service.storage.places import Place
from service.storage.tables import call, correction, customer, location, photo, replacement, site, unit, visit
from service.storage.visits import PARTS

OWN = (location.c.starts_on, location.c.reason, location.c.made_at, location.c.made_by)
OF_OWNER = (customer.c.care_from, customer.c.ended_on, site.c.closures)
LOCATIONS = (
    SITES.with_only_columns(location.c.unit_id, *OWN, *OF_OWNER, *SITES.selected_columns, maintain_column_froms=True)
    .join(location, location.c.site_id == site.c.id)
    .order_by(location.c.unit_id, location.c.number)
)
LOCATIONS_OF = Statement(LOCATIONS.where(location.c.unit_id == bindparam("unit_id")))
ADD = insert_of(location)
MOVED = Statement(
    select(unit.c.tag)
    .select_from(unit.join(location, location.c.unit_id == unit.c.id))
    .where(location.c.number == 0)
    .order_by(unit.c.tag)
)
MOVED_IN = Statement(
    select(location.c.unit_id)
    .where(location.c.number == 0, location.c.unit_id.between(bindparam("low"), bindparam("high")))
    .order_by(location.c.unit_id)
)
# Where the latest location by a day is not where the unit stands, or where one begins about that day in some time zone.
LATER = location.alias("later")
OVERTAKEN = (
    select(LATER.c.number)
    .where(
        LATER.c.unit_id == location.c.unit_id,
        LATER.c.starts_on <= bindparam("day"),
        (LATER.c.starts_on > location.c.starts_on)
        | ((LATER.c.starts_on == location.c.starts_on) & (LATER.c.number > location.c.number)),
    )
    .correlate(location)
    .exists()
)
TO_BEGIN = Statement(
    select(unit.c.tag)
    .select_from(unit.join(location, location.c.unit_id == unit.c.id))
    .where(
        location.c.starts_on <= bindparam("day"),
        (location.c.starts_on > bindparam("settled")) | ((location.c.site_id != unit.c.site_id) & ~OVERTAKEN),
    )
    .distinct()
    .order_by(unit.c.tag)
)
RECEIVED = Statement(
    select(call.c.id, call.c.received_at, call.c.site_id).where(call.c.unit_id == bindparam("of_unit"))
)
RELOCATE_CALL = Statement(
    call.update()
    .values(site_id=bindparam("new_site_id"), customer_id=bindparam("new_customer_id"))
    .where(call.c.id == bindparam("of_call"))
)
ARRIVALS = Statement(
    select(visit.c.id, visit.c.arrived_at, visit.c.site_id, visit.c.day).where(visit.c.unit_id == bindparam("of_unit"))
)
NEW = ("customer_id", "site_id", "day")


def _relocating(table: Table) -> Statement:
    """The update of the rows of one visit; the day of a replacement is its own where that was reported."""
    identity = table.c.id if table is visit else table.c.visit_id
    values: dict[str, Any] = {name: bindparam(f"new_{name}") for name in NEW if name in table.c}
    if table is replacement:
        values["day"] = _day_replaced()
    return Statement(table.update().values(values).where(identity == bindparam("of_visit")))


def _day_replaced() -> ColumnElement[str]:
    """As `latest_by`: the visit's day, unless the days reported are all before or all after it."""
    of_visit: BindParameter[str] = bindparam("new_day")
    first, last = replacement.c.earliest, replacement.c.latest
    return case((first > of_visit, first), (last < of_visit, last), else_=of_visit)


RELOCATE = {table: _relocating(table) for table in (visit, *PARTS, correction, photo)}


def locations_of(rows: Iterable[tuple[Any, ...]]) -> dict[int, tuple[Location, ...]]:
    """Recorded locations by unit identity, from rows of `LOCATIONS`."""
    found: dict[int, tuple[Location, ...]] = {}
    for unit_id, starts_on, reason, made_at, made_by, care_from, ended_on, closures, *of_site in rows:
        new = Location(
            site=read_site(tuple(of_site)),
            starts_on=day(starts_on),
            reason=reason,
            at=None if made_at is None else from_text(made_at),
            by=made_by,
            customer_care_from=day(care_from),
            customer_ended_on=day(ended_on),
            closures=read_many(Pause, closures),
        )
        found[unit_id] = (*found.get(unit_id, ()), new)
    return found


class Locations:
    """Where units stood."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def of(self, unit_id: int) -> tuple[Location, ...]:
        """A unit's locations as recorded; none for one that was never moved."""
        return locations_of(self.link.rows(LOCATIONS_OF, unit_id=unit_id)).get(unit_id, ())

    def place_at(self, place: Place, instant: datetime) -> Place:
        """The unit's place as it was at an instant."""
        return self.place_of(place, self.of(place.id), instant)

    def place_of(self, place: Place, recorded: tuple[Location, ...], instant: datetime) -> Place:
        """The same, by the unit's locations as they were read."""
        return self.place_in(place, location_at(in_force(recorded), instant)) if recorded else place

    def place_in(self, place: Place, there: Location) -> Place:
        """The unit's place as it is in one of its locations."""
        ids = self.link.row(SITE_IDS, key=there.site.code)
        if ids is None:
            raise NotFound("site", there.site.code)
        return place._replace(
            site_id=ids[0],
            customer_id=ids[1],
            time_zone=there.site.time_zone,
            site=there.site.code,
            customer=there.site.customer,
        )

    def add(self, place: Place, number: int, new: Location) -> None:
        """Store one more location of a unit."""
        there = self.place_in(place, new)
        self.link.run(
            ADD,
            unit_id=place.id,
            number=number,
            customer_id=there.customer_id,
            site_id=there.site_id,
            starts_on=day_text(new.starts_on),
            reason=new.reason,
            made_at=None if new.at is None else to_text(new.at),
            made_by=new.by,
        )

    def moved(self) -> list[str]:
        """The tags of the units that have been moved or are to be."""
        return [row[0] for row in self.link.rows(MOVED)]

    def moved_in(self, low: int, high: int) -> list[int]:
        """Those of them in a range of identities."""
        return [row[0] for row in self.link.rows(MOVED_IN, low=low, high=high)]

    def to_begin(self, settled: str, day: str) -> list[str]:
        """The tags of units that may have moved by a day: up to the day `settled` every location has begun."""
        return [row[0] for row in self.link.rows(TO_BEGIN, settled=settled, day=day)]

    def relocate(self, unit_id: int, place_at: Callable[[datetime], Place]) -> None:
        """Store site, customer and day of a unit's visits anew, where its place at their arrivals is another now.

        A call for the unit goes by the instant at which it was received.
        """
        changes = []
        for visit_id, arrived_at, site_id, known_day in self.link.rows(ARRIVALS, of_unit=unit_id):
            arrived = from_text(arrived_at)
            there = place_at(arrived)
            new_day = local_day(arrived, there.time_zone).isoformat()
            if (site_id, known_day) != (there.site_id, new_day):
                changes.append((visit_id, there.customer_id, there.site_id, new_day))
        for table, statement in RELOCATE.items():
            named = {"of_visit": 0} | {f"new_{name}": n for n, name in enumerate(NEW, 1) if name in table.c}
            self.link.run_many(statement, [{name: each[n] for name, n in named.items()} for each in changes])
        calls = []
        for call_id, received_at, site_id in self.link.rows(RECEIVED, of_unit=unit_id):
            there = place_at(from_text(received_at))
            if site_id != there.site_id:
                calls.append({"of_call": call_id, "new_site_id": there.site_id, "new_customer_id": there.customer_id})
        self.link.run_many(RELOCATE_CALL, calls)
