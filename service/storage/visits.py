"""Visits and their parts. Posting one is the hottest write of all: every statement here is compiled once."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from sqlalchemy import ColumnElement, CompoundSelect, Select, Table, bindparam, func, or_, select, tuple_

from service.domain.errors import NotFound, Stale
from service.domain.instants import to_text
from service.domain.record.visits import Correction, Visit, VisitFilter
from service.storage.corrections import ADD_CORRECTION, CORRECTIONS_OF, read_correction
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of
from service.storage.places import Place
from service.storage.tables import (
    correction,
    customer,
    location,
    observation,
    photo,
    reading,
    replacement,
    site,
    task_result,
    technician,
    unit,
    visit,
    visit_call,
)
from service.storage.tags import present_tag
from service.storage.visit_rows import read_parts, read_visit, visit_values, written_parts

PARTS = (reading, task_result, replacement, observation, visit_call)
VISITS = select(
    visit.c.id,
    visit.c.uuid,
    unit.c.tag,
    site.c.time_zone,
    site.c.code,
    customer.c.code,
    visit.c.kind,
    visit.c.by_whom,
    visit.c.evidence,
    visit.c.firm,
    technician.c.code,
    visit.c.arrived_at,
    visit.c.left_at,
    visit.c.symptom,
    visit.c.reported_at,
    visit.c.words,
    visit.c.work,
    visit.c.advice,
    visit.c.internal_note,
    visit.c.crew,
    visit.c.parts_used,
    visit.c.signed_by,
    visit.c.attendance,
    visit.c.shared_by,
    visit.c.outcome,
    visit.c.parts_promised_on,
    visit.c.posted_at,
    visit.c.posted_by,
    visit.c.void,
    visit.c.version,
).select_from(
    visit.join(unit, unit.c.id == visit.c.unit_id)
    .join(site, site.c.id == visit.c.site_id)
    .join(customer, customer.c.id == visit.c.customer_id)
    .outerjoin(technician, technician.c.id == visit.c.technician_id)
)
VISIT = Statement(VISITS.where(visit.c.uuid == bindparam("key")))
KNOWN = Statement(select(visit.c.id, visit.c.fingerprint).where(visit.c.uuid == bindparam("key")))
ADD_VISIT = insert_of(visit)
ADD_PART = {table.name: insert_of(table) for table in PARTS}
KEEP_WITH = [
    Statement(table.update().values(customer_id=bindparam("owner")).where(table.c.visit_id == bindparam("of_visit")))
    for table in (correction, photo)
]
DROP_PARTS = [Statement(table.delete().where(table.c.visit_id == bindparam("visit_id"))) for table in PARTS]
MOVE = Statement(visit.update().values(unit_id=bindparam("to_unit")).where(visit.c.uuid == bindparam("key")))
MOST_WAITING = 2000  # readings
UNCHANGED = ("id", "uuid", "unit_id", "posted_at", "posted_by", "fingerprint", "attendance", "shared_by")
SAVE_VISIT = Statement(
    visit.update()
    .values({column.name: bindparam(column.name) for column in visit.c if column.name not in UNCHANGED})
    .where(visit.c.uuid == bindparam("key"), visit.c.version == bindparam("former_version"))
)
# Answered by an index alone, without a look at the visits.
PERFORMED = select(
    task_result.c.unit_id,
    task_result.c.task,
    task_result.c.day,
    task_result.c.result,
    task_result.c.as_found,
    task_result.c.reason,
).where(task_result.c.void == 0)
PERFORMED_IN = Statement(PERFORMED.where(task_result.c.unit_id.between(bindparam("low"), bindparam("high"))))
OF_OTHERS = PERFORMED.join(visit, visit.c.id == task_result.c.visit_id).where(visit.c.by_whom == "others")
OF_OTHERS_IN = Statement(OF_OTHERS.where(visit.c.unit_id.between(bindparam("low"), bindparam("high"))))
OURS = visit.alias("ours")


def of_latest(wanted: ColumnElement[Any], unit_id: ColumnElement[Any]) -> ColumnElement[Any]:
    """A column of `OURS`, of our latest valid visit with an outcome at the unit that another table's column names."""
    return (
        select(wanted)
        .where(OURS.c.unit_id == unit_id, OURS.c.void.is_(None), OURS.c.by_whom == "us", OURS.c.outcome.is_not(None))
        .order_by(OURS.c.arrived_at.desc(), OURS.c.id.desc())
        .limit(1)
        .correlate(unit_id.table)
        .scalar_subquery()
    )


LATEST_IN = Statement(
    select(visit.c.unit_id, visit.c.uuid, visit.c.day, visit.c.outcome, visit.c.parts_promised_on)
    .select_from(unit.join(visit, visit.c.id == of_latest(OURS.c.id, unit.c.id)))
    .where(unit.c.id.between(bindparam("low"), bindparam("high")))
)


def part_columns(table: Table) -> list[ColumnElement[Any]]:
    """The columns of a part beside its place in the tables, as `visit_rows` reads them."""
    own = ("visit_id", "position", "customer_id", "unit_id")
    return [column for column in table.c if column.name not in own]


class Visits:
    """All that was done at the units."""

    def __init__(self, link: Link) -> None:
        self.link = link
        self._waiting: dict[str, list[dict[str, Any]]] = {table.name: [] for table in PARTS}

    def get(self, visit_id: str) -> Visit:
        """The visit with all its parts, or NotFound."""
        row = self.link.row(VISIT, key=visit_id)
        if row is None:
            raise NotFound("visit", visit_id)
        return next(self._whole([row]))

    def fingerprint(self, visit_id: str) -> str | None:
        """The fingerprint of the body that first made this visit, None when there is none."""
        row = self.link.row(KNOWN, key=visit_id)
        return None if row is None else str(row[1])

    def add(
        self, new: Visit, place: Place, *, technician_id: int | None, fingerprint: str, parts_later: bool = False
    ) -> None:
        """Store a visit with its parts; with `parts_later` these wait for `flush`, which writes many at once."""
        values = visit_values(new, place) | {
            "uuid": new.id,
            "unit_id": place.id,
            "technician_id": technician_id,
            "posted_at": to_text(new.posted_at),
            "posted_by": new.posted_by,
            "fingerprint": fingerprint,
            "attendance": new.attendance,
            "shared_by": new.shared_by,
        }
        for table, rows in written_parts(new, place, self.link.value(ADD_VISIT, **values)).items():
            self._waiting[table] += rows
        if not parts_later or len(self._waiting["reading"]) > MOST_WAITING:
            self.flush()

    def flush(self) -> None:
        """Write the parts that wait; done of itself before anything is read that they belong to."""
        for table, rows in self._waiting.items():
            if rows:
                self.link.run_many(ADD_PART[table], rows)
                rows.clear()

    def save(self, changed: Visit, place: Place, *, technician_id: int | None) -> None:
        """Store a corrected or voided visit; Stale when another change came first."""
        values = visit_values(changed, place) | {"technician_id": technician_id}
        if not self.link.run(SAVE_VISIT, key=changed.id, former_version=changed.version - 1, **values):
            raise Stale("visit", changed.id)
        self.flush()
        visit_id = self._id_of(changed.id)
        for keep in KEEP_WITH:
            self.link.run(keep, of_visit=visit_id, owner=place.customer_id)
        for drop in DROP_PARTS:
            self.link.run(drop, visit_id=visit_id)
        for table, rows in written_parts(changed, place, visit_id).items():
            self._waiting[table] += rows
        self.flush()

    def add_correction(self, visit_id: str, place: Place, made: Correction, from_unit_id: int | None = None) -> None:
        """Keep the former text of a corrected visit."""
        self.link.run(
            ADD_CORRECTION,
            visit_id=self._id_of(visit_id),
            customer_id=place.customer_id,
            number=made.number,
            made_at=to_text(made.at),
            made_by=made.by,
            why=made.why,
            changes=made.changes,
            former=made.former,
            from_unit_id=from_unit_id,
        )

    def move(self, visit_id: str, to: Place) -> None:
        """Store that a visit belongs to another unit."""
        self.link.run(MOVE, key=visit_id, to_unit=to.id)

    def corrections(self, visit_id: str) -> list[Correction]:
        """All corrections of a visit, oldest first."""
        return [read_correction(row) for row in self.link.rows(CORRECTIONS_OF, key=visit_id)]

    def page(self, wanted: VisitFilter, *, after: tuple[str, str] | None, limit: int) -> list[Visit]:
        """Visits newest first, behind (arrived_at, id) of the last one seen."""
        query = _narrowed(wanted)
        if after is not None:
            query = query.where(tuple_(visit.c.arrived_at, visit.c.uuid) < tuple_(*after))
        rows = self.link.core(query.order_by(visit.c.arrived_at.desc(), visit.c.uuid.desc()).limit(limit))
        return list(self._whole([tuple(row) for row in rows]))

    def in_order_of_posting(self, after: int, most: int) -> tuple[list[Visit], int | None]:
        """The next visits as they were posted, for iterating over all records; with the position to continue from."""
        rows = self.link.core(VISITS.where(visit.c.id > after).order_by(visit.c.id).limit(most))
        found = [tuple(row) for row in rows]
        return list(self._whole(found)), (found[-1][0] if len(found) == most else None)

    def performed(self, low: int, high: int) -> Iterable[tuple[Any, ...]]:
        """(unit_id, task, day, result, as_found, reason) of all task results that count, of units in a range."""
        self.flush()
        return self.link.rows(PERFORMED_IN, low=low, high=high)

    def by_others(self, low: int, high: int) -> Iterable[tuple[Any, ...]]:
        """Those of `performed` that others did: too few to join all of them to their visits."""
        return self.link.rows(OF_OTHERS_IN, low=low, high=high)

    def latest(self, low: int, high: int) -> Iterable[tuple[Any, ...]]:
        """(unit_id, visit id, day, outcome, parts promised on) of our latest valid visit with an outcome, by unit."""
        return self.link.rows(LATEST_IN, low=low, high=high)

    def _id_of(self, visit_id: str) -> int:
        row = self.link.row(KNOWN, key=visit_id)
        if row is None:
            raise NotFound("visit", visit_id)
        return int(row[0])

    def _whole(self, rows: Sequence[tuple[Any, ...]]) -> Iterator[Visit]:
        visit_ids = [row[0] for row in rows]
        parts = read_parts({table.name: self._parts(table, visit_ids) for table in PARTS})
        return (read_visit(row, parts) for row in rows)

    def _parts(self, table: Table, visit_ids: Sequence[int]) -> Iterator[tuple[Any, ...]]:
        self.flush()
        query = select(table.c.visit_id, *part_columns(table)).where(table.c.visit_id.in_(visit_ids))
        return map(tuple, self.link.core(query.order_by(table.c.visit_id, table.c.position)))


def _narrowed(wanted: VisitFilter) -> Select[Any]:
    query = VISITS
    named = (
        (unit.c.tag, None if wanted.unit is None else present_tag(wanted.unit)),
        (site.c.code, wanted.site),
        (customer.c.code, wanted.customer),
    )
    for column, value in named:
        if value is not None:
            query = query.where(column == value)
    if wanted.site is not None:  # by the index of visits by unit
        query = query.where(visit.c.unit_id.in_(_ever_at(site.c.code == wanted.site)))
    if wanted.customer is not None:
        query = query.where(visit.c.unit_id.in_(_ever_at(customer.c.code == wanted.customer)))
    if wanted.technician is not None:
        query = query.where(or_(technician.c.code == wanted.technician, _in_crew(wanted.technician)))
    if wanted.since is not None:
        query = query.where(visit.c.day >= wanted.since)
    if wanted.until is not None:
        query = query.where(visit.c.day <= wanted.until)
    return query


def _ever_at(these: ColumnElement[bool]) -> CompoundSelect[Any]:
    """The units that stand or stood at some sites."""
    theirs = select(site.c.id).join(customer, customer.c.id == site.c.customer_id).where(these)
    moved = select(location.c.unit_id).where(location.c.site_id.in_(theirs))
    return select(unit.c.id).where(unit.c.site_id.in_(theirs)).union(moved)


def _in_crew(code: str) -> ColumnElement[bool]:
    """Whether the JSON list of the crew has this code; LIKE would take another case, and `_` for any letter."""
    return func.replace(visit.c.crew, f'"{code}"', "") != visit.c.crew
