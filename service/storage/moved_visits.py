"""Visits that were moved from one unit to another."""

from collections.abc import Iterable

from sqlalchemy import BindParameter, bindparam, or_, select

from service.domain.record.visits import Correction, Visit
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.tables import correction, unit, visit
from service.storage.visits import Visits

MOVED_AWAY = (
    select(correction.c.from_unit_id, visit.c.uuid)
    .join(visit, visit.c.id == correction.c.visit_id)
    .where(visit.c.unit_id != correction.c.from_unit_id)
    .distinct()
    .order_by(correction.c.from_unit_id, visit.c.uuid)
)

_OF: BindParameter[int] = bindparam("of_unit")
_SHARED = (  # the visits that were moved to or from a unit
    select(correction.c.visit_id)
    .join(visit, visit.c.id == correction.c.visit_id)
    .where(correction.c.from_unit_id.is_not(None), or_(correction.c.from_unit_id == _OF, visit.c.unit_id == _OF))
)
SHARING = Statement(
    select(unit.c.tag).where(
        or_(
            unit.c.id.in_(select(visit.c.unit_id).where(visit.c.id.in_(_SHARED))),
            unit.c.id.in_(select(correction.c.from_unit_id).where(correction.c.visit_id.in_(_SHARED))),
        )
    )
)


def sharing_with(link: Link, unit_id: int) -> set[str]:
    """The tags of the units between which visits of a unit were moved, its own among them where there are any."""
    return {row[0] for row in link.rows(SHARING, of_unit=unit_id)}


def with_corrections(link: Link, ids: Iterable[str]) -> list[tuple[Visit, tuple[Correction, ...]]]:
    """Some visits, each with its corrections."""
    visits = Visits(link)
    return [(visits.get(each), tuple(visits.corrections(each))) for each in ids]
