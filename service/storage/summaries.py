"""What a customer's yearly figures are computed from: one plain query a kind of row, all units at once."""

from datetime import date
from typing import Any

import orjson
from sqlalchemy import Select, Table, bindparam, select

from service.domain.instants import from_text
from service.domain.maintenance.due import Performed
from service.domain.maintenance.settings import Setting
from service.domain.quantities import Quantity
from service.domain.summary.cases import Decision
from service.domain.summary.settings import Before
from service.domain.summary.summary import ReadingLine, ReplacementLine, VisitLine
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.summary_rows import (
    COUNTS,
    REPLACEMENT,
    VISIT,
    befores,
    changes,
    decisions_of,
    decisions_where,
    grouped,
    own_changes_where,
    replacement_line,
    visit_line,
)
from service.storage.tables import (
    audit,
    component,
    customer,
    reading,
    replacement,
    task_result,
    technician,
    unit,
    unit_task_setting,
    visit,
)
from service.storage.tables.columns import TEXT

OF_CUSTOMER = unit.c.customer_id == select(customer.c.id).where(customer.c.code == bindparam("code")).scalar_subquery()
OWN = ("visit_id", "position", "customer_id", "unit_id")


def _parts(table: Table, *columns: Any) -> Select[Any]:
    """Of the customer's visits that count the rows of one table of parts, oldest visit first."""
    joined = unit.join(visit, visit.c.unit_id == unit.c.id).join(table, table.c.visit_id == visit.c.id)
    rows = select(unit.c.tag, *columns).select_from(joined).where(OF_CUSTOMER, COUNTS)
    return rows.order_by(visit.c.arrived_at, visit.c.id, table.c.position)


VISITS = Statement(
    select(unit.c.tag, *VISIT)
    .select_from(
        unit.join(visit, visit.c.unit_id == unit.c.id).outerjoin(technician, technician.c.id == visit.c.technician_id)
    )
    .where(OF_CUSTOMER, COUNTS)
    .order_by(visit.c.arrived_at, visit.c.id)
)
PERFORMED = Statement(
    _parts(
        task_result,
        task_result.c.task,
        task_result.c.day,
        task_result.c.result,
        task_result.c.as_found,
        task_result.c.reason,
        visit.c.uuid,
    )
)
READINGS = Statement(
    _parts(reading, visit.c.uuid, visit.c.day, *(column for column in reading.c if column.name not in OWN)).where(
        visit.c.day >= bindparam("since", type_=TEXT), visit.c.day <= bindparam("until", type_=TEXT)
    )
)
REPLACEMENTS = Statement(
    _parts(replacement, *REPLACEMENT).join(
        component, (component.c.unit_id == replacement.c.unit_id) & (component.c.code == replacement.c.component)
    )
)
SETTINGS = Statement(
    select(unit.c.tag, unit_task_setting.c.task, unit_task_setting.c.changes, unit_task_setting.c.version)
    .select_from(unit.join(unit_task_setting, unit_task_setting.c.unit_id == unit.c.id))
    .where(OF_CUSTOMER)
    .order_by(unit.c.tag, unit_task_setting.c.task)
)

SHOP_CHANGES = Statement(
    select(audit.c.key, audit.c.at, audit.c.before).where(audit.c.noun == "task").order_by(audit.c.id)
)
DECISIONS = decisions_where(OF_CUSTOMER)
OWN_CHANGES = own_changes_where(OF_CUSTOMER)


class Summaries:
    """Rows of one customer by unit tag; visits count up to the instant `as_of`, as it is stored."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def visits(self, code: str, as_of: str) -> dict[str, list[tuple[int, VisitLine]]]:
        """(version, visit) of every visit that counts."""
        rows = self.link.rows(VISITS, code=code, as_of=as_of)
        return grouped((row[0], (row[1], visit_line(row))) for row in rows)

    def performed(self, code: str, as_of: str) -> dict[str, list[tuple[str, Performed]]]:
        """(visit, task result) of every task result."""
        rows = self.link.rows(PERFORMED, code=code, as_of=as_of)
        return grouped(
            (tag, (visit_id, Performed(task, date.fromisoformat(day), result, found, reason)))
            for tag, task, day, result, found, reason, visit_id in rows
        )

    def readings(self, code: str, as_of: str, *, since: str, until: str) -> dict[str, tuple[ReadingLine, ...]]:
        """The readings of the visits of some days, by visit."""
        rows = self.link.rows(READINGS, code=code, as_of=as_of, since=since, until=until)
        found = grouped((row[1], _reading(row)) for row in rows)
        return {visit_id: tuple(readings) for visit_id, readings in found.items()}

    def replacements(self, code: str, as_of: str) -> dict[str, list[ReplacementLine]]:
        """Every replacement, by its own day."""
        rows = self.link.rows(REPLACEMENTS, code=code, as_of=as_of)
        found = grouped((row[0], replacement_line(row)) for row in rows)
        return {tag: sorted(lines, key=lambda line: line.on) for tag, lines in found.items()}

    def own_settings(self, code: str) -> dict[str, list[Setting]]:
        """The units' own settings of tasks."""
        rows = self.link.rows(SETTINGS, code=code)
        return grouped((row[0], Setting(row[1], orjson.loads(row[2]), row[3])) for row in rows)

    def shop_changes(self) -> dict[str, list[Before]]:
        """By task what was set for all units before each change, the oldest first."""
        return grouped((task, Before(from_text(at), changes(text))) for task, at, text in self.link.rows(SHOP_CHANGES))

    def own_changes(self, code: str) -> dict[tuple[str, str], list[Before]]:
        """By unit and task what was set for the unit before each change, the oldest first."""
        return befores(self.link.rows(OWN_CHANGES, code=code))

    def decisions(self, code: str) -> dict[tuple[str, str], list[Decision]]:
        """By unit and component kind what was decided, the oldest first."""
        return decisions_of(self.link.rows(DECISIONS, code=code))


def _reading(row: tuple[Any, ...]) -> ReadingLine:
    tag, uuid, day, quantity, component, tap, value, dimension, entered, sample, sample_entered, at, moment, known = row
    return ReadingLine(
        visit=uuid,
        unit=tag,
        on=date.fromisoformat(day),
        quantity=quantity,
        component=component,
        tap=tap,
        when=moment,
        value=Quantity(value, dimension, entered),
        sample_temperature=None if sample is None else Quantity(sample, "temperature", sample_entered),
        evidence=known,
        at=None if at is None else from_text(at),
    )
