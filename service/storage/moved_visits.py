"""Visits that were moved from one unit to another."""

from collections.abc import Iterable

from sqlalchemy import select

from service.domain.record.visits import Correction, Visit
from service.storage.engine.database import Link
from service.storage.tables import correction, visit
from service.storage.visits import Visits

MOVED_AWAY = (
    select(correction.c.from_unit_id, visit.c.uuid)
    .join(visit, visit.c.id == correction.c.visit_id)
    .where(visit.c.unit_id != correction.c.from_unit_id)
    .distinct()
    .order_by(correction.c.from_unit_id, visit.c.uuid)
)


def with_corrections(link: Link, ids: Iterable[str]) -> list[tuple[Visit, tuple[Correction, ...]]]:
    """Some visits, each with its corrections."""
    visits = Visits(link)
    return [(visits.get(each), tuple(visits.corrections(each))) for each in ids]
