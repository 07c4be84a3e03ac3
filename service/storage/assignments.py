"""Who does which work when."""

from collections.abc import Sequence
from typing import Any

from sqlalchemy import bindparam, or_, select

from service.domain.errors import NotFound, Stale
from service.domain.instants import from_text, to_text
from service.domain.record.assignments import Assignment
from service.storage.documents import day, day_text
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of
from service.storage.tables import assignment, site, technician, unit

ASSIGNMENTS = select(
    assignment.c.id,
    site.c.code,
    unit.c.tag,
    assignment.c.task,
    technician.c.code,
    assignment.c.day,
    assignment.c.postponed_to,
    assignment.c.why,
    assignment.c.note,
    assignment.c.posted_at,
    assignment.c.posted_by,
    assignment.c.version,
).select_from(
    assignment.join(site, site.c.id == assignment.c.site_id)
    .outerjoin(unit, unit.c.id == assignment.c.unit_id)
    .outerjoin(technician, technician.c.id == assignment.c.technician_id)
)
ONE = Statement(ASSIGNMENTS.where(assignment.c.id == bindparam("key")))
STANDING = or_(assignment.c.day >= bindparam("since"), assignment.c.postponed_to >= bindparam("since"))
STANDING_ONES = Statement(ASSIGNMENTS.where(STANDING))
IN_FORCE = Statement(
    select(
        assignment.c.site_id,
        assignment.c.unit_id,
        assignment.c.task,
        assignment.c.technician_id,
        assignment.c.day,
        assignment.c.postponed_to,
    )
    .where(STANDING)
    .order_by(assignment.c.id)
)
SAME = Statement(
    select(assignment.c.id).where(
        assignment.c.site_id == bindparam("of_site"),
        assignment.c.unit_id.is_not_distinct_from(bindparam("of_unit")),
        assignment.c.task.is_not_distinct_from(bindparam("of_task")),
        STANDING,
    )
)
FACTS = ("site_id", "unit_id", "technician_id", "task", "day", "postponed_to", "why", "note")
EQUAL = Statement(
    select(assignment.c.id)
    .where(*(assignment.c[name].is_not_distinct_from(bindparam(f"of_{name}")) for name in FACTS))
    .limit(1)
)
ADD = insert_of(assignment)
RESTORE = Statement(assignment.insert().values({c.name: bindparam(c.name) for c in assignment.c}))
CHANGED = ("technician_id", "day", "postponed_to", "why", "note", "version")
SAVE = Statement(
    assignment.update()
    .values({name: bindparam(f"new_{name}") for name in CHANGED})
    .where(assignment.c.id == bindparam("key"), assignment.c.version == bindparam("former_version"))
)
DROP = Statement(assignment.delete().where(assignment.c.id == bindparam("key")))
InForce = tuple[int, int | None, str | None, int | None, str | None, str | None]
Target = tuple[int, int | None, str | None]  # site, unit and task, with which `InForce` begins


def _assignment(row: Sequence[Any]) -> Assignment:
    key, site_code, tag, task, technician_code, on, postponed_to, why, note, posted_at, posted_by, version = row
    return Assignment(
        id=key,
        site=site_code,
        unit=tag,
        task=task,
        technician=technician_code,
        day=day(on),
        postponed_to=day(postponed_to),
        why=why,
        note=note,
        posted_at=from_text(posted_at),
        posted_by=posted_by,
        version=version,
    )


class Assignments:
    """Who does which work when."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def get(self, identity: int) -> Assignment:
        """One assignment, or NotFound."""
        row = self.link.row(ONE, key=identity)
        if row is None:
            raise NotFound("assignment", str(identity))
        return _assignment(row)

    def add(self, new: Assignment, *, refers: dict[str, int | None]) -> int:
        """Store a new assignment; its identity, which is given to it unless it has one."""
        own = {"task": new.task, "posted_at": to_text(new.posted_at), "posted_by": new.posted_by}
        values = {**own, **refers, **_changing(new)}
        if not new.id:
            return int(self.link.value(ADD, **values))
        self.link.run(RESTORE, id=new.id, **values)
        return new.id

    def save(self, changed: Assignment, technician_id: int | None) -> None:
        """Store a changed assignment; Stale when another change came first."""
        values = {f"new_{name}": value for name, value in _changing(changed).items()}
        former = changed.version - 1
        if not self.link.run(SAVE, key=changed.id, former_version=former, new_technician_id=technician_id, **values):
            raise Stale("assignment", str(changed.id))

    def drop(self, identity: int) -> None:
        """Delete an assignment."""
        self.link.run(DROP, key=identity)

    def same(self, site_id: int, unit_id: int | None, task: str | None, since: str) -> int | None:
        """The assignment of the same work that still holds on a day, None without one."""
        found: int | None = self.link.value(SAME, of_site=site_id, of_unit=unit_id, of_task=task, since=since)
        return found

    def is_stored(self, given: Assignment, refers: dict[str, int | None]) -> bool:
        """Whether there is an assignment of the same work to the same technician and day, with the same reasons."""
        facts = {"task": given.task, **refers, **_changing(given)}
        return self.link.row(EQUAL, **{f"of_{name}": facts[name] for name in FACTS}) is not None

    def in_force(self, since: str) -> list[InForce]:
        """(site, unit, task, technician, day, postponed to) of what holds on a day or later."""
        return self.link.rows(IN_FORCE, since=since)

    def standing(self, since: str) -> list[Assignment]:
        """The assignments, as they are now, that hold on a day or later."""
        return [_assignment(row) for row in self.link.rows(STANDING_ONES, since=since)]

    def page(self, site_code: str | None, technician_code: str | None, after: int, limit: int) -> list[Assignment]:
        """Assignments as they were made, of a site or a technician or all."""
        query = ASSIGNMENTS.where(assignment.c.id > after)
        if site_code is not None:
            query = query.where(site.c.code == site_code)
        if technician_code is not None:
            query = query.where(technician.c.code == technician_code)
        return [_assignment(row) for row in self.link.core(query.order_by(assignment.c.id).limit(limit))]


def _changing(given: Assignment) -> dict[str, Any]:
    return {
        "day": day_text(given.day),
        "postponed_to": day_text(given.postponed_to),
        "why": given.why,
        "note": given.note,
        "version": given.version,
    }
