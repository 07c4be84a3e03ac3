"""Due items as they stand, the day's list read from them, and the days whose work is done."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from sqlalchemy import Select, bindparam, func, or_, select, tuple_
from sqlalchemy.dialects import postgresql, sqlite

from service.domain.maintenance.due import DueItem
from service.domain.maintenance.pm_list import DueRow
from service.storage.documents import day, day_text
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.fleet import insert_of
from service.storage.tables import customer, day_done, due_item, site, technician, unit, unit_task_setting
from service.storage.units import Place

KNOWN = ("task", "due_on", "basis", "why", "interval", "last_done_on")
ITEMS = select(due_item.c.unit_id, *(due_item.c[name] for name in KNOWN))
ITEMS_AT = Statement(
    ITEMS.where(due_item.c.unit_id == bindparam("unit_id")).order_by(due_item.c.due_on, due_item.c.task)
)
ITEMS_IN = Statement(ITEMS.where(due_item.c.unit_id.between(bindparam("low"), bindparam("high"))))
ADD_ITEM = insert_of(due_item)
SAVE_ITEM = Statement(
    due_item.update()
    .values({name: bindparam(name) for name in (*KNOWN[1:], "site_id", "customer_id")})
    .where(due_item.c.unit_id == bindparam("of_unit"), due_item.c.task == bindparam("of_task"))
)
DROP_ITEM = Statement(
    due_item.delete().where(due_item.c.unit_id == bindparam("of_unit"), due_item.c.task == bindparam("of_task"))
)
MOVE_ITEMS = Statement(
    due_item.update()
    .values(site_id=bindparam("to_site"), customer_id=bindparam("to_customer"))
    .where(due_item.c.unit_id == bindparam("of_unit"))
)
DAY_ROWS = (
    select(
        due_item.c.due_on,
        due_item.c.task,
        due_item.c.basis,
        due_item.c.why,
        due_item.c.interval,
        due_item.c.last_done_on,
        unit.c.tag,
        unit.c.place,
        unit.c.maker,
        unit.c.model,
        site.c.code,
        site.c.name,
        site.c.address,
        site.c.access,
        site.c.time_zone,
        site.c.latitude,
        site.c.longitude,
        customer.c.code,
        customer.c.name,
        customer.c.phone,
        technician.c.code,
        due_item.c.site_id,
        due_item.c.unit_id,
        unit_task_setting.c.changes,
    )
    .select_from(
        due_item.join(unit, unit.c.id == due_item.c.unit_id)
        .join(site, site.c.id == due_item.c.site_id)
        .join(customer, customer.c.id == due_item.c.customer_id)
        .outerjoin(technician, technician.c.id == site.c.technician_id)
        .outerjoin(
            unit_task_setting,
            (unit_task_setting.c.unit_id == due_item.c.unit_id) & (unit_task_setting.c.task == due_item.c.task),
        )
    )
    .where(due_item.c.due_on <= bindparam("until"))
    .order_by(due_item.c.due_on, due_item.c.site_id, due_item.c.unit_id, due_item.c.task)
    .limit(bindparam("most"))
)
BEHIND = tuple_(due_item.c.due_on, due_item.c.site_id, due_item.c.unit_id, due_item.c.task) > tuple_(
    bindparam("after_day"), bindparam("after_site"), bindparam("after_unit"), bindparam("after_task")
)
THEIRS = technician.c.code == bindparam("technician")
DAY_LISTS: dict[tuple[bool, bool], Statement] = {
    (False, False): Statement(DAY_ROWS),
    (True, False): Statement(DAY_ROWS.where(BEHIND)),
    (False, True): Statement(DAY_ROWS.where(THEIRS)),
    (True, True): Statement(DAY_ROWS.where(BEHIND, THEIRS)),
}
CLAIM_DAY = Statement(
    {
        name: dialect.insert(day_done)
        .values({column.name: bindparam(column.name) for column in day_done.c})
        .on_conflict_do_nothing()
        for name, dialect in {"sqlite": sqlite, "postgresql": postgresql}.items()
    }
)
FLEET_DONE = Statement(
    select(day_done.c.done_at).where(day_done.c.job == bindparam("job"), day_done.c.day == bindparam("day")).limit(1)
)
FIRST_SITE = Statement(select(func.min(site.c.id)))
FORGET_DAYS = Statement(day_done.delete().where(day_done.c.day < bindparam("before")))
REOPEN_DAYS = Statement(day_done.delete().where(day_done.c.job == bindparam("job")))
Position = tuple[str, int, int, str]


def _item(row: tuple[Any, ...]) -> DueItem:
    _, task, due_on, basis, why, interval, last_done_on = row
    return DueItem(
        task=task,
        due_on=date.fromisoformat(due_on),
        basis=basis,
        why=why,
        interval=interval,
        last_done_on=day(last_done_on),
    )


class DueItems:
    """What is due at each unit."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def at(self, unit_id: int) -> list[DueItem]:
        """The due items of one unit, soonest first."""
        return [_item(row) for row in self.link.rows(ITEMS_AT, unit_id=unit_id)]

    def of(self, low: int, high: int) -> dict[int, list[DueItem]]:
        """The due items of units in a range of identities, by unit identity."""
        found: dict[int, list[DueItem]] = {}
        for row in self.link.rows(ITEMS_IN, low=low, high=high):
            found.setdefault(row[0], []).append(_item(row))
        return found

    def write(self, changes: Sequence[tuple[Place, DueItem, bool]], gone: Sequence[tuple[Place, str]]) -> None:
        """Store items, each told to be new or not, and take away those that are gone."""
        if gone:
            self.link.run_many(DROP_ITEM, [{"of_unit": place.id, "of_task": task} for place, task in gone])
        new = [_columns(place, item) | {"unit_id": place.id} for place, item, is_new in changes if is_new]
        if new:
            self.link.run_many(ADD_ITEM, new)
        old = [
            _columns(place, item) | {"of_unit": place.id, "of_task": item.task}
            for place, item, is_new in changes
            if not is_new
        ]
        if old:
            self.link.run_many(SAVE_ITEM, [{k: v for k, v in row.items() if k != "task"} for row in old])

    def move(self, place: Place) -> None:
        """Take a unit's items along to the site where it now stands."""
        self.link.run(MOVE_ITEMS, of_unit=place.id, to_site=place.site_id, to_customer=place.customer_id)

    def until(self, day_text: str, *, most: int, after: Position | None, technician_code: str | None) -> list[DueRow]:
        """Rows due up to a day, oldest first, behind a position in that order."""
        asked: dict[str, Any] = {"until": day_text, "most": most}
        if after is not None:
            asked |= dict(zip(("after_day", "after_site", "after_unit", "after_task"), after, strict=True))
        if technician_code is not None:
            asked["technician"] = technician_code
        statement = DAY_LISTS[after is not None, technician_code is not None]
        return [DueRow._make(row) for row in self.link.rows(statement, **asked)]


def _columns(place: Place, item: DueItem) -> dict[str, Any]:
    return {
        "task": item.task,
        "customer_id": place.customer_id,
        "site_id": place.site_id,
        "due_on": item.due_on.isoformat(),
        "basis": item.basis,
        "why": item.why,
        "interval": item.interval,
        "last_done_on": day_text(item.last_done_on),
    }


class DaysDone:
    """The ledger: one row for each job, site and day at the site. Its key makes a second run impossible."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def undone(self, job: str, today_in: dict[str, str], *, most: int, after: int = 0) -> list[tuple[int, str]]:
        """(site identity, day) of the next sites behind one whose day there has not been done, at most so many."""
        if not today_in:
            return []
        query = _undone(job, today_in).where(site.c.id > after).limit(most)
        return [(row[0], today_in[row[1]]) for row in self.link.core(query)]

    def claim(self, job: str, site_id: int, day_at_site: str, now: str) -> bool:
        """Mark a site's day as done; False when another process did so before."""
        return self.link.run(CLAIM_DAY, job=job, site_id=site_id, day=day_at_site, done_at=now) == 1

    def fleet_done(self, job: str, day: str) -> bool:
        """Whether a job that is done for the whole fleet at once was done on a day."""
        return self.link.row(FLEET_DONE, job=job, day=day) is not None

    def claim_fleet(self, job: str, day: str, now: str) -> None:
        """Mark the whole fleet's day as done, in the row of its first site; an empty book has nothing to mark."""
        first: int | None = self.link.value(FIRST_SITE)
        if first is not None:
            self.claim(job, first, day, now)

    def reopen(self, job: str) -> None:
        """Make every site's day undone, so that the next tick does it again."""
        self.link.run(REOPEN_DAYS, job=job)

    def forget(self, before: str) -> None:
        """Drop the ledger's rows of days long gone."""
        self.link.run(FORGET_DAYS, before=before)


def _undone(job: str, today_in: dict[str, str]) -> Select[Any]:
    is_today = or_(*(((site.c.time_zone == zone) & (day_done.c.day == today)) for zone, today in today_in.items()))
    done = select(day_done.c.site_id).where(day_done.c.job == job, day_done.c.site_id == site.c.id, is_today)
    return select(site.c.id, site.c.time_zone).where(~done.exists()).order_by(site.c.id)
