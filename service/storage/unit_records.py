"""A unit's record as the search for root causes reads it; visits that were voided do not count."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from itertools import groupby
from operator import itemgetter
from typing import Any

from sqlalchemy import bindparam, func, or_, select

from service.domain.quantities import Quantity
from service.domain.record.fleet import Bath, Supply
from service.domain.root_causes.candidate import (
    ComponentPlace,
    RecordReading,
    ReplacementEvent,
    TaskEvent,
    UnitRecord,
)
from service.storage.documents import day, read
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.tables import component, customer, reading, replacement, root_cause, task_result, unit, visit
from service.storage.units import COMPONENTS, component_of

IN_RANGE: tuple[Any, Any] = (bindparam("low"), bindparam("high"))
UNITS_IN = Statement(
    select(
        unit.c.id,
        unit.c.tag,
        unit.c.installed_on,
        unit.c.registered_on,
        unit.c.retired_on,
        unit.c.supply,
        unit.c.bath,
    )
    .where(unit.c.id.between(*IN_RANGE))
    .order_by(unit.c.id)
)
COMPONENTS_IN = Statement(COMPONENTS.where(COMPONENTS.selected_columns.unit_id.between(*IN_RANGE)))
COUNTING = (visit.c.void.is_(None), visit.c.unit_id.between(*IN_RANGE))
REPLACEMENTS_IN = Statement(
    select(
        replacement.c.unit_id,
        replacement.c.component,
        replacement.c.day,
        replacement.c.reason,
        replacement.c.condition,
        replacement.c.evidence,
        replacement.c.by_whom,
        visit.c.uuid,
    )
    .select_from(replacement.join(visit, visit.c.id == replacement.c.visit_id))
    .where(*COUNTING)
    .order_by(replacement.c.unit_id, replacement.c.day, visit.c.id, replacement.c.position)
)
READINGS_IN = Statement(
    select(
        reading.c.unit_id,
        reading.c.quantity,
        reading.c.component,
        reading.c.value,
        reading.c.dimension,
        reading.c.sample_temperature,
        visit.c.day,
        reading.c.moment,
    )
    .select_from(reading.join(visit, visit.c.id == reading.c.visit_id))
    .where(*COUNTING)
    .order_by(reading.c.unit_id, visit.c.day, visit.c.id, reading.c.position)
)
TASKS_IN = Statement(
    select(task_result.c.unit_id, task_result.c.task, task_result.c.day, task_result.c.result, task_result.c.as_found)
    .where(task_result.c.void == 0, task_result.c.unit_id.between(*IN_RANGE))
    .order_by(task_result.c.unit_id, task_result.c.day, task_result.c.visit_id, task_result.c.position)
)
DAYS_IN = Statement(
    select(visit.c.unit_id, visit.c.day).where(*COUNTING).order_by(visit.c.unit_id, visit.c.day, visit.c.id)
)
MAY_HAVE_FAILED = ("failed", "unknown")
SUSPECTED = (
    select(replacement.c.unit_id)
    .select_from(
        replacement.join(
            component, (component.c.unit_id == replacement.c.unit_id) & (component.c.code == replacement.c.component)
        ).join(visit, visit.c.id == replacement.c.visit_id)
    )
    .where(visit.c.void.is_(None), replacement.c.reason.in_(MAY_HAVE_FAILED))
    .group_by(replacement.c.unit_id, component.c.kind)
    .having(func.count(replacement.c.day.distinct()) > 1)
)
TO_SEARCH = Statement(
    SUSPECTED.where(replacement.c.unit_id.between(*IN_RANGE)).union(
        select(root_cause.c.unit_id).where(root_cause.c.unit_id.between(*IN_RANGE))
    )
)
FAILURES = Statement(
    select(
        unit.c.id,
        unit.c.tag,
        unit.c.installed_on,
        unit.c.registered_on,
        unit.c.retired_on,
        replacement.c.component,
        replacement.c.day,
        replacement.c.reason,
        replacement.c.condition,
        replacement.c.evidence,
        replacement.c.by_whom,
        visit.c.uuid,
        component.c.kind,
    )
    .select_from(
        replacement.join(unit, unit.c.id == replacement.c.unit_id)
        .join(visit, visit.c.id == replacement.c.visit_id)
        .join(component, (component.c.unit_id == unit.c.id) & (component.c.code == replacement.c.component))
    )
    .where(
        visit.c.void.is_(None),
        replacement.c.reason.in_(MAY_HAVE_FAILED),
        replacement.c.day <= bindparam("as_of"),
        or_(unit.c.id <= bindparam("all_up_to"), unit.c.id % bindparam("then_every") == 0),
    )
    .order_by(unit.c.id, replacement.c.day, visit.c.id, replacement.c.position)
)
Rows = dict[int, list[tuple[Any, ...]]]


class UnitRecords:
    """Whole records, six queries for a range of units however many they are."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def to_search(self, low: int, high: int) -> list[int]:
        """The units of a range whose parts of one kind may have failed twice, or that have a case; one small query."""
        return sorted(row[0] for row in self.link.rows(TO_SEARCH, low=low, high=high))

    def suspected(self, until: str, *, after: int, most: int, customer_code: str | None, tag: str | None) -> list[int]:
        """The next units from an identity on whose parts of one kind may have failed twice by a day."""
        query = SUSPECTED.where(replacement.c.day <= until, replacement.c.unit_id >= after)
        theirs = select(unit.c.id).join(customer, customer.c.id == unit.c.customer_id)
        if customer_code is not None:
            query = query.where(replacement.c.unit_id.in_(theirs.where(customer.c.code == customer_code)))
        if tag is not None:
            query = query.where(replacement.c.unit_id.in_(theirs.where(unit.c.tag == tag)))
        each = query.subquery()
        found = self.link.core(select(each.c.unit_id).distinct().order_by(each.c.unit_id).limit(most))
        return [row[0] for row in found]

    def failures_of(self, all_up_to: int, then_every: int, *, as_of: date) -> Iterator[UnitRecord]:
        """Records with nothing but failures, of the first units and then of every so many; only those with any."""
        rows = self.link.stream(FAILURES, all_up_to=all_up_to, then_every=then_every, as_of=as_of.isoformat())
        for _, own in groupby(rows, key=itemgetter(0)):
            yield _failures(list(own), as_of)

    def of(self, low: int, high: int, *, as_of: date) -> Iterator[tuple[int, UnitRecord]]:
        """(identity, record up to a day) of the units in a range of identities."""
        parts = [
            self._by_unit(statement, low, high)
            for statement in (COMPONENTS_IN, REPLACEMENTS_IN, READINGS_IN, TASKS_IN, DAYS_IN)
        ]
        for row in self.link.rows(UNITS_IN, low=low, high=high):
            yield row[0], _record(row, [part[row[0]] for part in parts], as_of)

    def _by_unit(self, statement: Statement, low: int, high: int) -> Rows:
        found: Rows = defaultdict(list)
        for row in self.link.rows(statement, low=low, high=high):
            found[row[0]].append(row)
        return found


def _record(row: tuple[Any, ...], parts: list[list[tuple[Any, ...]]], as_of: date) -> UnitRecord:
    _, tag, installed_on, registered_on, retired_on, supply, bath = row
    until = as_of.isoformat()
    components = [component_of(part) for part in parts[0]]
    kinds = {part.code: part.kind for part in components}
    replacements = tuple(_replacement(part, kinds) for part in parts[1] if part[2] <= until)
    days = [*(event.day for event in replacements), *(date.fromisoformat(on) for _, on in parts[4] if on <= until)]
    installed = date.fromisoformat(installed_on) if installed_on else None
    known, wet = read(Supply, supply) or Supply(), read(Bath, bath) or Bath()
    return UnitRecord(
        tag=tag,
        # what is told of days before the installation counts all the same: the installation's day may be wrong
        start=min([date.fromisoformat(installed_on or registered_on), *days, as_of]),
        end=min(day(retired_on) or as_of, as_of),
        components=tuple(
            ComponentPlace(part.code, part.kind, part.feeds, _si(part.rated_current, "current"), part.rating)
            for part in components
        ),
        retired=retired_on is not None and retired_on <= until,
        told_before_installation=0 if installed is None else sum(each < installed for each in days),
        supply_voltage=_si(known.voltage, "voltage"),
        target_strength=_si(wet.target_strength, "mass_fraction"),
        replacements=replacements,
        readings=tuple(_reading(part) for part in parts[2] if part[6] <= until),
        tasks=tuple(_task(part) for part in parts[3] if part[2] <= until),
    )


def _failures(rows: list[tuple[Any, ...]], as_of: date) -> UnitRecord:
    _, tag, installed_on, registered_on, retired_on = rows[0][:5]
    events = tuple(_replacement((None, *row[5:12]), {row[5]: row[12]}) for row in rows)
    start = min(date.fromisoformat(installed_on or registered_on), events[0].day)
    return UnitRecord(tag, start, min(day(retired_on) or as_of, as_of), replacements=events)


def _si(quantity: Quantity | None, dimension: str) -> float | None:
    """The SI value, None when it is not told or told in another dimension."""
    return quantity.value if quantity is not None and quantity.dimension == dimension else None


def _replacement(row: tuple[Any, ...], kinds: dict[str, str]) -> ReplacementEvent:
    _, code, on, reason, condition, evidence, by, visit_id = row
    return ReplacementEvent(
        component=code,
        kind=kinds.get(code, "unknown"),
        day=date.fromisoformat(on),
        reason=reason,
        condition=condition,
        evidence=evidence,
        by=by,
        visit=visit_id,
    )


def _reading(row: tuple[Any, ...]) -> RecordReading:
    _, quantity, component, value, dimension, sample, on, moment = row
    return RecordReading(
        quantity=quantity,
        component=component,
        value=value,
        dimension=dimension,
        sample_temperature=sample,
        day=date.fromisoformat(on),
        as_found=moment == "as_found",
    )


def _task(row: tuple[Any, ...]) -> TaskEvent:
    _, task, on, result, as_found = row
    return TaskEvent(task, date.fromisoformat(on), result, as_found)
