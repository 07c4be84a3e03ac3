"""The order of a unit's events, found in the tables that hold them."""

from typing import Any

from sqlalchemy import ColumnElement, Select, bindparam, func, literal, select, tuple_, union_all

from service.storage.engine.database import Link
from service.storage.tables import component, observation, reading, replacement, root_cause, task_result, unit, visit
from service.storage.tables.columns import TEXT

NOON = bindparam("noon", type_=TEXT)
Position = tuple[str, str, int, int]


def _of_part(event: str, table: Any, moment: ColumnElement[str]) -> Select[Any]:
    return (
        select(moment.label("moment"), literal(event).label("event"), table.c.visit_id, table.c.position)
        .select_from(table.join(visit, visit.c.id == table.c.visit_id))
        .where(table.c.unit_id == bindparam("unit_id"))
    )


def _of_day(event: str, column: ColumnElement[Any], position: Any, where: ColumnElement[bool]) -> Select[Any]:
    moment = (column + NOON).label("moment")
    return select(moment, literal(event).label("event"), literal(0).label("visit_id"), position).where(
        where, column.is_not(None)
    )


def _of_case(event: str, moment: ColumnElement[Any]) -> Select[Any]:
    return select(
        moment.label("moment"), literal(event).label("event"), literal(0).label("visit_id"), root_cause.c.id
    ).where(root_cause.c.unit_id == bindparam("unit_id"), moment.is_not(None))


OF_UNIT = unit.c.id == bindparam("unit_id")
OF_COMPONENT = component.c.unit_id == bindparam("unit_id")
EVENTS = union_all(
    select(
        visit.c.arrived_at.label("moment"),
        literal("visit").label("event"),
        visit.c.id.label("visit_id"),
        literal(0).label("position"),
    ).where(visit.c.unit_id == bindparam("unit_id")),
    _of_part("reading", reading, func.coalesce(reading.c.at, visit.c.arrived_at)),
    _of_part("task", task_result, visit.c.arrived_at),
    _of_part("replacement", replacement, func.coalesce(replacement.c.reported_on + NOON, visit.c.arrived_at)),
    _of_part("observation", observation, visit.c.arrived_at),
    _of_day("unit_installed", unit.c.installed_on, literal(0), OF_UNIT),
    _of_day("unit_retired", unit.c.retired_on, literal(0), OF_UNIT),
    _of_day("component_installed", component.c.installed_on, component.c.position, OF_COMPONENT),
    _of_day("component_removed", component.c.removed_on, component.c.position, OF_COMPONENT),
    _of_case("root_cause_seen", root_cause.c.first_seen),
    _of_case("root_cause_decided", root_cause.c.decided_at),
).subquery()
ORDER = (EVENTS.c.moment, EVENTS.c.event, EVENTS.c.visit_id, EVENTS.c.position)


class Timeline:
    """Positions of events, newest first."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def positions(self, unit_id: int, noon: str, *, after: Position | None, limit: int) -> list[Position]:
        """(moment, event, visit identity, position) of the next events behind one; `noon` stands for a day."""
        query = select(EVENTS).order_by(*(column.desc() for column in ORDER)).limit(limit)
        if after is not None:
            query = query.where(tuple_(*ORDER) < tuple_(*after))
        return [(row[0], row[1], row[2], row[3]) for row in self.link.core(query.params(unit_id=unit_id, noon=noon))]
