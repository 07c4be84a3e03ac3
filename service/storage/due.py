"""Due items as they stand, and the day's list read from them."""

from collections.abc import Collection, Sequence
from typing import Any

from sqlalchemy import bindparam, case, select
from sqlalchemy.dialects import postgresql, sqlite

from service.domain.maintenance.due import FOLLOW_UP, DueItem
from service.domain.maintenance.pm_list import DueRow, UnitFacts
from service.storage.documents import day, day_text
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.places import Place
from service.storage.tables import customer, due_item, site, technician, unit, unit_task_setting
from service.storage.unit_log import among, id_text
from service.storage.visits import OURS, of_latest

KNOWN = ("task", "due_on", "basis", "why", "interval", "last_done_on", "away")
ITEMS = select(due_item.c.unit_id, *(due_item.c[name] for name in KNOWN))
ITEMS_AT = Statement(
    ITEMS.where(due_item.c.unit_id == bindparam("unit_id")).order_by(due_item.c.due_on, due_item.c.task)
)
ITEMS_IN = Statement(ITEMS.where(due_item.c.unit_id.between(bindparam("low"), bindparam("high"))))
SAVE_ITEM = Statement(
    {
        name: (insert := dialect.insert(due_item))
        .values({column.name: bindparam(column.name) for column in due_item.c})
        .on_conflict_do_update(
            index_elements=["unit_id", "task"],
            set_={name: insert.excluded[name] for name in (*KNOWN[1:], "site_id", "customer_id")},
        )
        for name, dialect in {"sqlite": sqlite, "postgresql": postgresql}.items()
    }
)
DROP_ITEM = Statement(
    due_item.delete().where(due_item.c.unit_id == bindparam("of_unit"), due_item.c.task == bindparam("of_task"))
)
MOVE_ITEMS = Statement(
    due_item.update()
    .values(site_id=bindparam("to_site"), customer_id=bindparam("to_customer"))
    .where(due_item.c.unit_id == bindparam("of_unit"))
)
OWN_SETTING = due_item.outerjoin(
    unit_task_setting,
    (unit_task_setting.c.unit_id == due_item.c.unit_id) & (unit_task_setting.c.task == due_item.c.task),
)
# What the order needs of every item, and no more: this is the one question that reads the whole list.
LISTED = Statement(
    select(
        due_item.c.site_id,
        due_item.c.unit_id,
        due_item.c.task,
        due_item.c.due_on,
        due_item.c.interval,
        unit_task_setting.c.changes,
        site.c.time_zone,
        site.c.technician_id,
        case((due_item.c.task == FOLLOW_UP, of_latest(OURS.c.outcome, due_item.c.unit_id)), else_=None),
        due_item.c.away,
    )
    .select_from(OWN_SETTING.join(site, site.c.id == due_item.c.site_id))
    .where(due_item.c.due_on <= bindparam("until"))
)
SITE_FACTS = (
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
)
UNIT_FACTS = (unit.c.tag, unit.c.place, unit.c.maker, unit.c.model)
ITEM_FACTS = tuple(due_item.c[name] for name in ("due_on", "task", "basis", "why", "interval", "last_done_on"))
# A row's unit and site are asked for once a unit: `FACTS_AT` has them.
ITEMS_OF = Statement(
    {
        name: select(due_item.c.unit_id, *ITEM_FACTS, unit_task_setting.c.changes)
        .select_from(OWN_SETTING)
        .where(due_item.c.due_on <= bindparam("until"), among(due_item.c.unit_id, name))
        for name in ("sqlite", "postgresql")
    }
)
FACTS_AT = Statement(
    {
        name: select(*UNIT_FACTS, *SITE_FACTS, unit.c.site_id, unit.c.id)
        .select_from(
            unit.join(site, site.c.id == unit.c.site_id)
            .join(customer, customer.c.id == unit.c.customer_id)
            .outerjoin(technician, technician.c.id == site.c.technician_id)
        )
        .where(among(unit.c.id, name))
        for name in ("sqlite", "postgresql")
    }
)
TAGS_AT, CODES_AT = (
    Statement({name: select(table.c.id, label).where(among(table.c.id, name)) for name in ("sqlite", "postgresql")})
    for table, label in ((unit, unit.c.tag), (site, site.c.code))
)
SITE_FACTS_AT = Statement(
    {
        name: select(*SITE_FACTS, site.c.id)
        .select_from(
            site.join(customer, customer.c.id == site.c.customer_id).outerjoin(
                technician, technician.c.id == site.c.technician_id
            )
        )
        .where(among(site.c.id, name))
        for name in ("sqlite", "postgresql")
    }
)
# site, unit, task, due_on, interval, own setting, zone, technician, outcome, away
Listed = tuple[int, int, str, str, str | None, str | None, str, int | None, str | None, str | None]


def _item(row: tuple[Any, ...]) -> DueItem:
    _, task, due_on, basis, why, interval, last_done_on, away = row
    return DueItem(task, day(due_on), basis, why, interval, day(last_done_on), away)  # type: ignore[arg-type]  # never null


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

    def write(self, changes: Sequence[tuple[Place, DueItem]], gone: Sequence[tuple[Place, str]]) -> None:
        """Store items, new ones or in the place of former ones, and delete those no longer due."""
        if gone:
            self.link.run_many(DROP_ITEM, [{"of_unit": place.id, "of_task": task} for place, task in gone])
        self.link.run_many(SAVE_ITEM, [_columns(place, item) for place, item in changes])

    def move(self, place: Place) -> None:
        """Take a unit's items along to the site where it now stands."""
        self.link.run(MOVE_ITEMS, of_unit=place.id, to_site=place.site_id, to_customer=place.customer_id)

    def until(self, day_text: str) -> list[Listed]:
        """What the order of the list needs of all that is due up to a day, as `Listed` has it.

        The outcome is that of the unit's latest visit, for a follow-up only.
        """
        return self.link.rows(LISTED, until=day_text)

    def rows_at(self, unit_ids: Sequence[int], day_text: str) -> list[DueRow]:
        """The items of some units due up to a day, in full."""
        units = self.facts_of_units(unit_ids)
        found = self.link.rows(ITEMS_OF, until=day_text, ids=id_text(unit_ids))
        return [
            DueRow._make((*item, *units[unit_id], own, "pm", None, (), None, None)) for unit_id, *item, own in found
        ]

    def facts_of_units(self, unit_ids: Sequence[int]) -> dict[int, UnitFacts]:
        """By unit: its facts, those of its site, and the identities of site and unit."""
        return {row[-1]: UnitFacts(*row) for row in self.link.rows(FACTS_AT, ids=id_text(unit_ids))}

    def names(self, site_ids: Collection[int], unit_ids: Collection[int]) -> tuple[dict[int, str], dict[int, str]]:
        """The codes of some sites and the tags of some units by identity."""
        asked = ((CODES_AT, site_ids), (TAGS_AT, unit_ids))
        codes, tags = (dict(self.link.rows(each, ids=id_text(sorted(ids)))) if ids else {} for each, ids in asked)
        return codes, tags

    def facts_of_sites(self, site_ids: Sequence[int]) -> dict[int, tuple[Any, ...]]:
        """By site: its facts and its identity, as a row has them."""
        return {row[-1]: row for row in self.link.rows(SITE_FACTS_AT, ids=id_text(site_ids))}


def _columns(place: Place, item: DueItem) -> dict[str, Any]:
    return {
        "unit_id": place.id,
        "task": item.task,
        "customer_id": place.customer_id,
        "site_id": place.site_id,
        "due_on": day_text(item.due_on),
        "basis": item.basis,
        "why": str(item.why),
        "interval": item.interval,
        "last_done_on": day_text(item.last_done_on),
        "away": item.away,
    }
