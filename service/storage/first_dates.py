"""First dates of tasks by onboarding plans."""

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import bindparam, select

from service.domain.record.care import Planned
from service.storage.documents import day, day_text
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of
from service.storage.places import Place
from service.storage.tables import first_date, unit

FIRST_DATES = select(first_date.c.unit_id, first_date.c.task, first_date.c.planned_on, first_date.c.since).order_by(
    first_date.c.unit_id, first_date.c.task
)
FIRST_DATES_IN = Statement(FIRST_DATES.where(first_date.c.unit_id.between(bindparam("low"), bindparam("high"))))
EVERYONES = Statement(
    select(unit.c.tag, first_date.c.task, first_date.c.planned_on, first_date.c.since)
    .select_from(first_date.join(unit, unit.c.id == first_date.c.unit_id))
    .order_by(unit.c.tag, first_date.c.task)
)
ADD = insert_of(first_date)
DROP = Statement(first_date.delete().where(first_date.c.unit_id == bindparam("of_unit")))


def first_dates(rows: Iterable[tuple[Any, ...]]) -> dict[int, dict[str, Planned]]:
    """Planned first dates by unit identity and task."""
    found: dict[int, dict[str, Planned]] = {}
    for unit_id, task, on, since in rows:
        found.setdefault(unit_id, {})[task] = Planned(day(on), day(since))  # type: ignore[arg-type]  # never null
    return found


class FirstDates:
    """When tasks are to be done for the first time."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def of(self, low: int, high: int) -> dict[int, dict[str, Planned]]:
        """The first dates of units in a range of identities."""
        return first_dates(self.link.rows(FIRST_DATES_IN, low=low, high=high))

    def everyones(self) -> Iterable[tuple[str, str, str, str]]:
        """(tag, task, day, since) of all units."""
        return self.link.rows(EVERYONES)

    def put(self, place: Place, planned: Mapping[str, Planned]) -> None:
        """Store a unit's first dates in place of its former ones."""
        self.link.run(DROP, of_unit=place.id)
        rows = [
            {
                "unit_id": place.id,
                "task": task,
                "customer_id": place.customer_id,
                "planned_on": day_text(each.on),
                "since": day_text(each.since),
            }
            for task, each in planned.items()
        ]
        if rows:
            self.link.run_many(ADD, rows)
