"""Where each unit stands, by which calendar, and the versions of its history and due items; who writes holds it."""

from collections.abc import Sequence
from typing import NamedTuple

from sqlalchemy import ColumnElement, bindparam, func, or_, select

from service.domain.errors import NotFound
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.tables import customer, location, site, unit
from service.storage.tags import present_tag

PLACES = select(
    unit.c.id,
    unit.c.tag,
    unit.c.customer_id,
    unit.c.site_id,
    unit.c.installed_on,
    unit.c.registered_on,
    unit.c.retired_on,
    site.c.time_zone,
    site.c.surroundings,
    site.c.closed_weekdays,
    unit.c.log_version,
    unit.c.due_version,
    unit.c.due_rules,
    func.coalesce(unit.c.care_from, site.c.care_from, customer.c.care_from),
    unit.c.last_done,
    unit.c.pauses,
    site.c.closures,
    site.c.ended_on,
    customer.c.ended_on,
    site.c.code,
    customer.c.code,
).select_from(unit.join(site).join(customer, customer.c.id == unit.c.customer_id))
PLACE = Statement(PLACES.where(unit.c.tag == present_tag(bindparam("key"))))
RAISE_LOG = Statement(
    unit.update()
    .values(
        log_version=bindparam("new_version"), due_version=bindparam("new_version"), due_rules=bindparam("new_rules")
    )
    .where(unit.c.id == bindparam("unit_id"))
)
KEEP_DUE_STATE = Statement(
    unit.update()
    .values(due_version=bindparam("new_version"), due_rules=bindparam("new_rules"))
    .where(unit.c.id == bindparam("unit_id"))
)
FORGET_DUE_STATE = Statement(unit.update().values(due_rules=0).where(unit.c.id == bindparam("unit_id")))
COUNT = Statement(select(func.count()).select_from(unit))
NUMBERED = select(unit.c.id, func.row_number().over(order_by=unit.c.id).label("number")).subquery()
SAMPLE = Statement(
    select(NUMBERED.c.id)
    .where(NUMBERED.c.number % bindparam("step") == 0)
    .order_by(NUMBERED.c.id)
    .limit(bindparam("most"))
)
STALE = Statement(
    PLACES.where(
        or_(unit.c.due_version != unit.c.log_version, unit.c.due_rules != bindparam("rules")),
        unit.c.id > bindparam("after"),
    )
    .order_by(unit.c.id)
    .limit(bindparam("most"))
)
PLACES_IN = Statement(PLACES.where(unit.c.id.between(bindparam("low"), bindparam("high"))).order_by(unit.c.id))
HIGHEST = Statement(select(func.max(unit.c.id)))
# On PostgreSQL writers of one unit take turns; several units are held in the order of their identities, so that no two
# writers wait for each other. Holding is a statement of its own: one that has waited sees the unit's new row, but its
# site as it was before.
HOLD = select(unit.c.id).order_by(unit.c.id).with_for_update()
HOLD_ONE = Statement(HOLD.where(unit.c.tag == present_tag(bindparam("key"))))


class Place(NamedTuple):
    """What is needed of a unit to plan its work: identities, days, and the ways of its site."""

    id: int
    tag: str
    customer_id: int
    site_id: int
    installed_on: str | None
    registered_on: str
    retired_on: str | None
    time_zone: str
    surroundings: str | None
    closed_weekdays: str
    log_version: int
    due_version: int
    due_rules: int
    care_from: str | None = None  # its own, else its site's, else its customer's
    last_done: str | None = None
    pauses: str | None = None
    closures: str | None = None
    site_ended_on: str | None = None
    customer_ended_on: str | None = None
    site: str = ""
    customer: str = ""

    def due_items_hold(self, rules: int) -> bool:
        """Whether the stored due items are those of the unit's history and of these rules."""
        return self.due_version == self.log_version and self.due_rules == rules


class Places:
    """The rows of units that planning needs."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def place(self, tag: str, *, to_write: bool = False) -> Place:
        """Where the unit with a present or former tag stands and by which calendar, or NotFound.

        `to_write` keeps other writers of it waiting.
        """
        if to_write and self._takes_turns:
            self.link.row(HOLD_ONE, key=tag)
        row = self.link.row(PLACE, key=tag)
        if row is None:
            raise NotFound("unit", tag)
        return Place(*row)

    @property
    def _takes_turns(self) -> bool:
        """Whether writers must hold a unit; SQLite has one writer at a time."""
        return self.link.dialect == "postgresql"

    def present_tag(self, tag: str) -> str | None:
        """The tag of the unit that has or had this one, None where there is none."""
        row = self.link.row(PLACE, key=tag)
        return None if row is None else Place(*row).tag

    def places_at(self, site_ids: Sequence[int]) -> list[Place]:
        """All units that stand, stood or are to stand at some sites, other writers of them kept waiting."""
        moved = select(location.c.unit_id).where(location.c.site_id.in_(site_ids))
        return self._held(unit.c.site_id.in_(site_ids) | unit.c.id.in_(moved))

    def places_of_customer(self, code: str) -> list[Place]:
        """All units that are, were or are to be a customer's, other writers of them kept waiting."""
        theirs = select(customer.c.id).where(customer.c.code == code)
        moved = select(location.c.unit_id).where(location.c.customer_id.in_(theirs))
        return self._held(unit.c.customer_id.in_(theirs) | unit.c.id.in_(moved))

    def places_in(self, low: int, high: int) -> list[Place]:
        """All units in a range of identities, for work that goes through the fleet; nobody waits."""
        return [Place(*row) for row in self.link.rows(PLACES_IN, low=low, high=high)]

    def highest(self) -> int:
        """The highest identity, 0 where there is no unit."""
        return int(self.link.value(HIGHEST) or 0)

    def places_of(self, unit_ids: Sequence[int]) -> list[Place]:
        """Some units by their identities, other writers of them kept waiting."""
        return self._held(unit.c.id.in_(unit_ids))

    def _held(self, these: ColumnElement[bool]) -> list[Place]:
        if self._takes_turns:
            self.link.core(HOLD.where(these))
        return [Place(*row) for row in self.link.core(PLACES.where(these).order_by(unit.c.id))]

    def raise_log(self, place: Place, due_rules: int) -> Place:
        """Count a change of the unit's history; the place as it now is.

        `due_rules` are those by which this transaction works out its due items, 0 where that is left to `stale`.
        """
        version = place.log_version + 1
        raised = place._replace(log_version=version, due_version=version, due_rules=due_rules)
        self.link.run(RAISE_LOG, unit_id=place.id, new_version=raised.log_version, new_rules=due_rules)
        return raised

    def keep_due_state(self, places: Sequence[Place], rules: int) -> None:
        """Record for which history and by which rules the due items of some units were worked out."""
        values = [{"unit_id": p.id, "new_version": p.log_version, "new_rules": rules} for p in places]
        self.link.run_many(KEEP_DUE_STATE, values)

    def forget_due_state(self, unit_ids: Sequence[int]) -> None:
        """Leave it to `stale` to work out the due items of some units anew."""
        self.link.run_many(FORGET_DUE_STATE, [{"unit_id": unit_id} for unit_id in unit_ids])

    def sample(self, most: int) -> list[int]:
        """The identities of so many units at most, evenly over all."""
        count = self.link.value(COUNT) or 0
        return [row[0] for row in self.link.rows(SAMPLE, step=max(1, -(-count // most)), most=most)]

    def stale(self, rules: int, *, after: int, most: int) -> list[Place]:
        """The next units whose due items rest on a former history or on other rules."""
        return [Place(*row) for row in self.link.rows(STALE, rules=rules, after=after, most=most)]
