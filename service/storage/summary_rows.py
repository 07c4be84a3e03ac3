"""Rows that both the customers' and the fleet's year are counted from, and how they are read."""

from collections.abc import Iterable
from datetime import date
from typing import Any

import orjson
from sqlalchemy import ColumnElement, bindparam, select

from service.domain.bench.figures import figure
from service.domain.instants import from_text
from service.domain.summary.cases import Decision
from service.domain.summary.lines import ReplacementLine, VisitLine
from service.domain.summary.settings import Before
from service.storage.engine.statements import Statement
from service.storage.tables import audit, component, replacement, root_cause, technician, unit, unit_task_setting, visit
from service.storage.tables.columns import TEXT

COUNTS: ColumnElement[bool] = visit.c.void.is_(None) & (visit.c.arrived_at <= bindparam("as_of", type_=TEXT))
VISIT = (
    visit.c.version,
    visit.c.uuid,
    visit.c.day,
    visit.c.arrived_at,
    visit.c.left_at,
    visit.c.kind,
    visit.c.by_whom,
    visit.c.evidence,
    technician.c.code,
    visit.c.symptom,
    visit.c.reported_at,
    visit.c.words,
    visit.c.work,
    visit.c.advice,
    visit.c.outcome,
)
REPLACEMENT = (
    replacement.c.component,
    component.c.kind,
    replacement.c.day,
    replacement.c.reason,
    replacement.c.condition,
    replacement.c.evidence,
    replacement.c.by_whom,
    visit.c.uuid,
    replacement.c.note,
)


def decisions_where(these_units: ColumnElement[bool]) -> Statement:
    """(tag, kind, instant, who, text) of every decision on cases of some units, the oldest first."""
    decided = unit.join(root_cause, root_cause.c.unit_id == unit.c.id).join(
        audit, (audit.c.noun == "root_cause") & (audit.c.key == unit.c.tag + "/" + root_cause.c.kind)
    )
    rows = select(unit.c.tag, root_cause.c.kind, audit.c.at, audit.c.actor, audit.c.after).select_from(decided)
    return Statement(rows.where(these_units, audit.c.action == "changed").order_by(audit.c.id))


def own_changes_where(these_units: ColumnElement[bool]) -> Statement:
    """(tag, task, instant, text before) of every change of some units' own settings, the oldest first."""
    changed = unit.join(unit_task_setting, unit_task_setting.c.unit_id == unit.c.id).join(
        audit, (audit.c.noun == "unit_task") & (audit.c.key == unit.c.tag + "/" + unit_task_setting.c.task)
    )
    rows = select(unit.c.tag, unit_task_setting.c.task, audit.c.at, audit.c.before).select_from(changed)
    return Statement(rows.where(these_units).order_by(audit.c.id))


def grouped(pairs: Any) -> dict[Any, list[Any]]:
    """Values by their key, in the order in which they came."""
    found: dict[Any, list[Any]] = {}
    for key, value in pairs:
        found.setdefault(key, []).append(value)
    return found


def befores(rows: Iterable[tuple[Any, ...]]) -> dict[tuple[str, str], list[Before]]:
    """By unit and task, from rows of (tag, task, instant, text)."""
    return grouped(((tag, task), Before(from_text(at), changes(text))) for tag, task, at, text in rows)


def decisions_of(rows: Iterable[tuple[Any, ...]]) -> dict[tuple[str, str], list[Decision]]:
    """By unit and component kind, from rows of (tag, kind, instant, who, text)."""
    return grouped(((tag, kind), _decision(at, by, text)) for tag, kind, at, by, text in rows)


def changes(text: str | None) -> dict[str, Any]:
    """Settings as they were kept; nothing where nothing was set."""
    return {} if text is None else orjson.loads(text)


def _decision(at: str, by: str, text: str) -> Decision:
    told = orjson.loads(text)
    return Decision(from_text(at), by, told["state"], told["note"])


def visit_line(row: tuple[Any, ...]) -> VisitLine:
    """A visit from its unit's tag and the columns `VISIT`."""
    tag, _, uuid, day, arrived_at, left_at, kind, by, evidence, who, symptom, reported_at, *told = row
    words, work, advice, outcome = told
    arrived, left = from_text(arrived_at), None if left_at is None else from_text(left_at)
    return VisitLine(
        id=uuid,
        unit=tag,
        on=date.fromisoformat(day),
        arrived_at=arrived,
        left_at=left,
        kind=kind,
        by=by,
        evidence=evidence,
        technician=who,
        symptom=symptom,
        reported_at=None if reported_at is None else from_text(reported_at),
        words=words,
        work=work,
        advice=advice,
        outcome=outcome,
        time_on_site=None if left is None else figure((left - arrived).total_seconds(), "time"),
    )


def replacement_line(row: tuple[Any, ...]) -> ReplacementLine:
    """A replacement from its unit's tag and the columns `REPLACEMENT`."""
    tag, code, kind, day, reason, condition, evidence, by, visit_id, note = row
    return ReplacementLine(
        unit=tag,
        component=code,
        kind=kind,
        on=date.fromisoformat(day),
        reason=reason,
        condition=condition,
        evidence=evidence,
        by=by,
        visit=visit_id,
        note=note,
    )
