"""Tags that units had before: a unit is found by each of them."""

from collections.abc import Iterable
from typing import Any

from sqlalchemy import ColumnElement, bindparam, func, or_, select

from service.domain.instants import from_text
from service.domain.record.tags import FormerTag
from service.storage.engine.link import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of
from service.storage.tables import former_tag, unit

FORMER_TAGS = select(former_tag.c.unit_id, former_tag.c.tag, former_tag.c.changed_at, former_tag.c.changed_by).order_by(
    former_tag.c.unit_id, former_tag.c.changed_at
)
EVERYONES = Statement(
    FORMER_TAGS.with_only_columns(unit.c.tag, *FORMER_TAGS.selected_columns)
    .join(unit, unit.c.id == former_tag.c.unit_id)
    .order_by(None)
    .order_by(unit.c.tag, former_tag.c.changed_at)
)
OF_UNIT = Statement(
    select(former_tag.c.tag).join(unit, unit.c.id == former_tag.c.unit_id).where(unit.c.tag == bindparam("present"))
)
ADD = insert_of(former_tag)
RENAME = Statement(unit.update().values(tag=bindparam("new_tag")).where(unit.c.id == bindparam("of_unit")))


def present_tag(given: Any) -> ColumnElement[str]:
    """The tag that the unit with a present or former tag has now; the tag itself where there is no such unit."""
    renamed = unit.alias("renamed")
    found = select(renamed.c.tag).join(former_tag, former_tag.c.unit_id == renamed.c.id)
    return func.coalesce(found.where(former_tag.c.tag == given).limit(1).scalar_subquery(), given)


def key_of(column: ColumnElement[str], end: ColumnElement[str]) -> ColumnElement[bool]:
    """Whether a key of a change is a unit's present or a former tag, "/" and `end`."""
    former = select(former_tag.c.tag + "/" + end).where(former_tag.c.unit_id == unit.c.id).correlate(unit, end.table)
    return or_(column == unit.c.tag + "/" + end, column.in_(former))


def former_tags(rows: Iterable[tuple[Any, ...]]) -> dict[int, tuple[FormerTag, ...]]:
    """Former tags by unit identity, from rows of `FORMER_TAGS`."""
    found: dict[int, tuple[FormerTag, ...]] = {}
    for unit_id, *row in rows:
        found[unit_id] = (*found.get(unit_id, ()), _read(row))
    return found


def _read(row: Iterable[str]) -> FormerTag:
    tag, changed_at, changed_by = row
    return FormerTag(tag=tag, at=from_text(changed_at), by=changed_by)


class Tags:
    """The tags of units and those that they had before."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def rename(self, unit_id: int, new: str) -> None:
        """Give a unit another tag; Conflict where that is taken."""
        self.link.run(RENAME, of_unit=unit_id, new_tag=new)

    def add(self, unit_id: int, customer_id: int, former: FormerTag, at: str) -> None:
        """Keep a tag that a unit had; `at` is the instant of the change as it is stored."""
        own = {"unit_id": unit_id, "customer_id": customer_id}
        self.link.run(ADD, tag=former.tag, changed_at=at, changed_by=former.by, **own)

    def of(self, tag: str) -> list[str]:
        """The former tags of the unit that now has this one."""
        return [row[0] for row in self.link.rows(OF_UNIT, present=tag)]

    def everyones(self) -> list[tuple[str, FormerTag]]:
        """(present tag, former tag) of all units that were renamed."""
        return [(tag, _read(row)) for tag, _, *row in self.link.rows(EVERYONES)]
