"""Imported times of travel between sites."""

from collections.abc import Collection, Iterable

from sqlalchemy import bindparam, select

from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of
from service.storage.tables import travel_time

ROWS = select(travel_time.c.from_site, travel_time.c.to_site, travel_time.c.minutes)
ALL = Statement(ROWS.order_by(travel_time.c.from_site, travel_time.c.to_site))
ONE = (travel_time.c.from_site == bindparam("of_from")) & (travel_time.c.to_site == bindparam("of_to"))
MINUTES = Statement(select(travel_time.c.minutes).where(ONE))
SAVE = Statement(travel_time.update().values(minutes=bindparam("new_minutes")).where(ONE))
ADD = insert_of(travel_time)


class TravelTimes:
    """How long it takes from one site to another."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def everyones(self) -> Iterable[tuple[str, str, int]]:
        """(from, to, minutes) of all."""
        return self.link.rows(ALL)

    def among(self, codes: Collection[str]) -> dict[tuple[str, str], int]:
        """The times [s] from one of some sites to another, by their codes."""
        ways = travel_time.c.from_site.in_(codes) & travel_time.c.to_site.in_(codes)
        return {(first, last): 60 * minutes for first, last, minutes in self.link.core(ROWS.where(ways))}

    def get(self, first: str, last: str) -> int | None:
        """The minutes from one site to another, None where they are not known."""
        found: int | None = self.link.value(MINUTES, of_from=first, of_to=last)
        return found

    def put(self, first: str, last: str, minutes: int) -> None:
        """Store the minutes from one site to another."""
        if not self.link.run(SAVE, of_from=first, of_to=last, new_minutes=minutes):
            self.link.run(ADD, from_site=first, to_site=last, minutes=minutes)
