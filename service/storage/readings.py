"""Readings of a unit across its visits."""

from typing import Any

from sqlalchemy import bindparam, select

from service.domain.condition.latest import ToldReading
from service.domain.instants import from_text
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.tables import reading, visit
from service.storage.visit_rows import read_reading

OWN = ("visit_id", "position", "customer_id", "unit_id")
AT_UNIT = Statement(
    select(
        visit.c.uuid,
        visit.c.arrived_at,
        visit.c.left_at,
        *(column for column in reading.c if column.name not in OWN),
    )
    .select_from(reading.join(visit, visit.c.id == reading.c.visit_id))
    .where(reading.c.unit_id == bindparam("unit_id"), visit.c.void.is_(None))
    .order_by(visit.c.arrived_at, visit.c.id, reading.c.position)
)


class Readings:
    """What was measured."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def at_unit(self, unit_id: int) -> list[ToldReading]:
        """All readings of visits that count, oldest visit first, each visit's in the order entered."""
        return [_reading(row) for row in self.link.rows(AT_UNIT, unit_id=unit_id)]


def _reading(row: tuple[Any, ...]) -> ToldReading:
    visit_id, arrived_at, left_at, *parts = row
    found = read_reading(tuple(parts))
    around = left_at if found.when == "as_left" and left_at else arrived_at
    return ToldReading(reading=found, at=found.at or from_text(around), visit=visit_id)
