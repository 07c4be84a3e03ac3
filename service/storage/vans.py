"""What was taken into vans, put back and counted."""

from typing import Any

import orjson
from sqlalchemy import bindparam, select

from service.domain.instants import from_text, to_text
from service.domain.plain import stored
from service.domain.quantities import Quantity
from service.domain.vans.stock import Movement
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of
from service.storage.tables import technician, van_movement

MOVEMENTS = select(
    van_movement.c.id,
    van_movement.c.uuid,
    technician.c.code,
    van_movement.c.item,
    van_movement.c.action,
    van_movement.c.amount,
    van_movement.c.at,
    van_movement.c.by,
).select_from(van_movement.join(technician, technician.c.id == van_movement.c.technician_id))
ONE = Statement(MOVEMENTS.where(van_movement.c.uuid == bindparam("key")))
OF_VAN = Statement(MOVEMENTS.where(technician.c.code == bindparam("of_technician")).order_by(van_movement.c.id))
PAGE = Statement(
    MOVEMENTS.where(technician.c.code == bindparam("of_technician"), van_movement.c.id > bindparam("after"))
    .order_by(van_movement.c.id)
    .limit(bindparam("most"))
)
IN_ORDER = Statement(
    MOVEMENTS.where(van_movement.c.id > bindparam("after")).order_by(van_movement.c.id).limit(bindparam("most"))
)
ADD = insert_of(van_movement)


class Vans:
    """The movements of all vans; a van is its technician's."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def find(self, movement_id: str) -> Movement | None:
        """The movement with an id, None when there is none."""
        row = self.link.row(ONE, key=movement_id)
        return None if row is None else _movement(row)

    def of(self, code: str) -> list[Movement]:
        """The movements of a technician's van, as they were recorded."""
        return [_movement(row) for row in self.link.rows(OF_VAN, of_technician=code)]

    def page(self, code: str, after: int, most: int) -> list[tuple[int, Movement]]:
        """The next movements of a technician's van as they were recorded, each with its position."""
        return [(row[0], _movement(row)) for row in self.link.rows(PAGE, of_technician=code, after=after, most=most)]

    def in_order(self, after: int, most: int) -> tuple[list[Movement], int | None]:
        """The next movements as they were recorded; with the position to continue from."""
        rows = list(self.link.rows(IN_ORDER, after=after, most=most))
        return [_movement(row) for row in rows], (rows[-1][0] if len(rows) == most else None)

    def add(self, new: Movement, technician_id: int) -> None:
        """Store a movement; Conflict when the id is taken."""
        amount = new.count if new.quantity is None else stored(new.quantity)
        self.link.value(
            ADD,
            uuid=new.id,
            technician_id=technician_id,
            item=new.item,
            action=new.action,
            amount=orjson.dumps(amount).decode(),
            at=to_text(new.at),
            by=new.by,
        )


def _movement(row: tuple[Any, ...]) -> Movement:
    _, uuid, code, item, action, text, at, by = row
    amount = orjson.loads(text)
    quantity = Quantity(*amount) if isinstance(amount, list) else None
    return Movement(
        id=uuid,
        technician=code,
        item=item,
        action=action,
        count=amount if quantity is None else None,
        quantity=quantity,
        at=from_text(at),
        by=by,
    )
