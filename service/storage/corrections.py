"""Corrections of visits: who changed what, when and why, and the former text."""

from typing import Any

from sqlalchemy import bindparam, select

from service.domain.instants import from_text
from service.domain.record.visits import Correction
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of
from service.storage.tables import correction, unit, visit

ADD_CORRECTION = insert_of(correction)
FROM_UNIT = unit.alias("from_unit")
CORRECTIONS = (
    select(
        visit.c.uuid,
        correction.c.number,
        correction.c.made_at,
        correction.c.made_by,
        correction.c.why,
        correction.c.changes,
        correction.c.former,
        FROM_UNIT.c.tag,
    )
    .select_from(
        visit.join(correction, correction.c.visit_id == visit.c.id).outerjoin(
            FROM_UNIT, FROM_UNIT.c.id == correction.c.from_unit_id
        )
    )
    .order_by(correction.c.visit_id, correction.c.number)
)
CORRECTIONS_OF = Statement(CORRECTIONS.where(visit.c.uuid == bindparam("key")))


def read_correction(row: tuple[Any, ...]) -> Correction:
    """A correction from its row in `CORRECTIONS`."""
    _, number, at, by, why, changes, former, tag = row
    return Correction(number=number, at=from_text(at), by=by, why=why, changes=changes, former=former, from_unit=tag)
