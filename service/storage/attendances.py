"""Our arrivals at sites."""

from collections.abc import Iterable, Sequence
from typing import Any

import orjson
from sqlalchemy import bindparam, select, tuple_

from service.domain.errors import NotFound, Stale
from service.domain.instants import from_text, to_text
from service.domain.record.attendances import Attendance, AttendanceFilter
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of, update_of
from service.storage.tables import attendance, site, unit, visit

ATTENDANCES = select(
    attendance.c.id,
    attendance.c.uuid,
    site.c.code,
    site.c.time_zone,
    attendance.c.crew,
    attendance.c.arrived_at,
    attendance.c.left_at,
    attendance.c.access,
    attendance.c.note,
    attendance.c.posted_at,
    attendance.c.posted_by,
    attendance.c.version,
).select_from(attendance.join(site, site.c.id == attendance.c.site_id))
ATTENDANCE = Statement(ATTENDANCES.where(attendance.c.uuid == bindparam("key")))
KNOWN = Statement(select(attendance.c.fingerprint).where(attendance.c.uuid == bindparam("key")))
HOLD = Statement(select(attendance.c.id).where(attendance.c.uuid == bindparam("key")).with_for_update())
IN_ORDER = Statement(
    ATTENDANCES.where(attendance.c.id > bindparam("after")).order_by(attendance.c.id).limit(bindparam("most"))
)
ADD = insert_of(attendance)
SAVE = update_of(attendance, "uuid", "customer_id", "site_id", "posted_at", "posted_by", "fingerprint")
VISITS_OF = (
    select(visit.c.attendance, visit.c.uuid, unit.c.tag)
    .select_from(visit.join(unit, unit.c.id == visit.c.unit_id))
    .where(visit.c.void.is_(None))
    .order_by(visit.c.attendance, unit.c.tag)
)
COUNTING = Statement(VISITS_OF.where(visit.c.attendance == bindparam("key")))
SHARE = Statement(
    visit.update()
    .values(shared_by=bindparam("new_shared_by"))
    .where(visit.c.attendance == bindparam("key"), visit.c.void.is_(None))
)


class Attendances:
    """All attendances there were."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def get(self, attendance_id: str, *, to_write: bool = False) -> Attendance:
        """The attendance, or NotFound; `to_write` keeps other writers of it waiting."""
        if to_write and self.link.dialect == "postgresql":
            self.link.row(HOLD, key=attendance_id)
        row = self.link.row(ATTENDANCE, key=attendance_id)
        if row is None:
            raise NotFound("attendance", attendance_id)
        return _attendance(row, [visit_id for visit_id, _ in self.counting(attendance_id)])

    def fingerprint(self, attendance_id: str) -> str | None:
        """The fingerprint of the body that first made this attendance, None when there is none."""
        found: str | None = self.link.value(KNOWN, key=attendance_id)
        return found

    def add(self, new: Attendance, *, site_id: int, customer_id: int, fingerprint: str) -> None:
        """Store a new attendance; Conflict when the id is taken."""
        posted = {"posted_at": to_text(new.posted_at), "posted_by": new.posted_by, "fingerprint": fingerprint}
        self.link.value(ADD, uuid=new.id, site_id=site_id, customer_id=customer_id, **posted, **_changing(new))

    def save(self, changed: Attendance) -> None:
        """Store a changed attendance; Stale when another change came first."""
        if not self.link.run(SAVE, key=changed.id, former_version=changed.version - 1, **_changing(changed)):
            raise Stale("attendance", changed.id)

    def counting(self, attendance_id: str) -> list[tuple[str, str]]:
        """(visit, unit) of its visits that count, by unit."""
        return [(visit_id, tag) for _, visit_id, tag in self.link.rows(COUNTING, key=attendance_id)]

    def share(self, attendance_id: str, among: int) -> None:
        """Record among how many visits its time on site is shared."""
        self.link.run(SHARE, key=attendance_id, new_shared_by=among)

    def in_order(self, after: int, most: int) -> tuple[list[Attendance], int | None]:
        """The next attendances as they were posted, without their visits; with the position to continue from."""
        rows = list(self.link.rows(IN_ORDER, after=after, most=most))
        return [_attendance(row, ()) for row in rows], (rows[-1][0] if len(rows) == most else None)

    def page(self, wanted: AttendanceFilter, *, after: tuple[str, str] | None, limit: int) -> list[Attendance]:
        """Attendances newest first, behind (arrived_at, id) of the last one seen."""
        query = ATTENDANCES
        if wanted.site is not None:
            query = query.where(site.c.code == wanted.site)
        if wanted.access is not None:
            query = query.where(attendance.c.access == wanted.access)
        if wanted.since is not None:
            query = query.where(attendance.c.arrived_at >= wanted.since)
        if after is not None:
            query = query.where(tuple_(attendance.c.arrived_at, attendance.c.uuid) < tuple_(*after))
        rows = self.link.core(query.order_by(attendance.c.arrived_at.desc(), attendance.c.uuid.desc()).limit(limit))
        found = [tuple(row) for row in rows]
        of_each: dict[str, list[str]] = {row[1]: [] for row in found}
        for uuid, visit_id, _ in self.link.core(VISITS_OF.where(visit.c.attendance.in_(of_each))):
            of_each[uuid].append(visit_id)
        return [_attendance(row, of_each[row[1]]) for row in found]


def _attendance(row: Sequence[Any], visits: Iterable[str]) -> Attendance:
    _, uuid, site_code, zone, crew, arrived_at, left_at, access, note, posted_at, posted_by, version = row
    return Attendance(
        id=uuid,
        site=site_code,
        time_zone=zone,
        crew=tuple(orjson.loads(crew)),
        arrived_at=from_text(arrived_at),
        left_at=None if left_at is None else from_text(left_at),
        access=access,
        note=note,
        visits=tuple(visits),
        posted_at=from_text(posted_at),
        posted_by=posted_by,
        version=version,
    )


def _changing(given: Attendance) -> dict[str, Any]:
    return {
        "crew": orjson.dumps(given.crew).decode(),
        "arrived_at": to_text(given.arrived_at),
        "left_at": None if given.left_at is None else to_text(given.left_at),
        "access": given.access,
        "note": given.note,
        "version": given.version,
    }
