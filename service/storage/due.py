"""Due items as they stand, and the day's list read from them."""

from collections.abc import Sequence
from typing import Any

from sqlalchemy import bindparam, select, tuple_

from service.domain.maintenance.due import DueItem
from service.domain.maintenance.pm_list import DueRow
from service.storage.documents import day, day_text
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.fleet import insert_of
from service.storage.places import Place
from service.storage.tables import customer, due_item, site, technician, unit, unit_task_setting

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
Position = tuple[str, int, int, str]


def _item(row: tuple[Any, ...]) -> DueItem:
    _, task, due_on, basis, why, interval, last_done_on = row
    return DueItem(task, day(due_on), basis, why, interval, day(last_done_on))  # type: ignore[arg-type]  # never null


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
        """Store items, each marked as new or not, and delete those no longer due."""
        if gone:
            self.link.run_many(DROP_ITEM, [{"of_unit": place.id, "of_task": task} for place, task in gone])
        named = {True: ("unit_id", "task"), False: ("of_unit", "of_task")}
        for is_new, statement in ((True, ADD_ITEM), (False, SAVE_ITEM)):
            rows = [_columns(place, item, *named[is_new]) for place, item, new in changes if new is is_new]
            self.link.run_many(statement, rows)

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


def _columns(place: Place, item: DueItem, unit_column: str, task_column: str) -> dict[str, Any]:
    return {
        unit_column: place.id,
        task_column: item.task,
        "customer_id": place.customer_id,
        "site_id": place.site_id,
        "due_on": day_text(item.due_on),
        "basis": item.basis,
        "why": item.why,
        "interval": item.interval,
        "last_done_on": day_text(item.last_done_on),
    }
