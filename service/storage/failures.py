"""Questions about the failures of many units at once, for work that would load every history to find a few.

They hold what the logs hold (see the tests): voided visits do not count, a replacement counts from its own day.
"""

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import groupby, islice
from operator import itemgetter
from typing import Any

import orjson
from sqlalchemy import bindparam, case, func, or_, select

from service.domain.record.failed import BROKEN
from service.domain.record.imprecise_days import uncertain
from service.domain.record.part_replaced import PartReplaced
from service.domain.root_causes.fitted import Replaced, UnitParts, parts_of
from service.domain.root_causes.history import FailureHistory, watched_from
from service.storage.documents import day
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.tables import component, customer, replacement, root_cause, site, technician, unit, visit
from service.storage.tags import present_tag
from service.storage.unit_log import among, id_text

FAILED = or_(replacement.c.reason == "failed", replacement.c.condition.in_(BROKEN))  # as `is_failure`
MAY_HAVE_FAILED = or_(FAILED, (replacement.c.reason == "unknown") & (replacement.c.condition != "good"))
COUNTS = (visit.c.void.is_(None), FAILED)
OF_COMPONENT = (component.c.unit_id == replacement.c.unit_id) & (component.c.code == replacement.c.component)
FAILED_TWICE = (
    select(replacement.c.unit_id)
    .select_from(replacement.join(component, OF_COMPONENT).join(visit, visit.c.id == replacement.c.visit_id))
    .where(visit.c.void.is_(None), MAY_HAVE_FAILED)
    .group_by(replacement.c.unit_id, component.c.kind)
    .having(func.count(replacement.c.day.distinct()) > 1)
)
REPLACED_TWICE = (
    select(replacement.c.unit_id)
    .select_from(replacement.join(component, OF_COMPONENT))
    .group_by(replacement.c.unit_id, component.c.kind)
    .having(func.count(replacement.c.day.distinct()) > 1)
)
TO_SEARCH = Statement(
    {
        name: FAILED_TWICE.where(among(replacement.c.unit_id, name)).union(
            select(root_cause.c.unit_id).where(among(root_cause.c.unit_id, name))
        )
        for name in ("sqlite", "postgresql")
    }
)
EARLIER = visit.alias()
FIRST_VISIT = (
    select(func.min(EARLIER.c.day))
    .where(EARLIER.c.unit_id == unit.c.id, EARLIER.c.void.is_(None), EARLIER.c.day <= bindparam("as_of"))
    .scalar_subquery()
)
# Of each replacement: the unit and since when it is watched, then what was replaced.
REPLACED = select(
    unit.c.id,
    unit.c.tag,
    unit.c.installed_on,
    func.coalesce(unit.c.care_from, site.c.care_from, customer.c.care_from, unit.c.registered_on),
    unit.c.retired_on,
    FIRST_VISIT,
    replacement.c.component,
    component.c.kind,
    replacement.c.day,
    replacement.c.reason,
    replacement.c.condition,
)
STATED = replacement.c.reported_on
MADE_BY = case((visit.c.by_whom == "us", replacement.c.by_whom), else_=visit.c.by_whom)  # as Visit.made_by
OF_VISITS = (
    replacement.join(unit, unit.c.id == replacement.c.unit_id)
    .join(visit, visit.c.id == replacement.c.visit_id)
    .join(component, OF_COMPONENT)
    .join(site, site.c.id == unit.c.site_id)
    .join(customer, customer.c.id == unit.c.customer_id)
)
IN_ORDER = (unit.c.id, replacement.c.day, visit.c.arrived_at, visit.c.id, replacement.c.position)
FAILURES = Statement(
    REPLACED.add_columns(replacement.c.evidence, MADE_BY, visit.c.uuid, STATED)
    .select_from(OF_VISITS)
    .where(
        *COUNTS,
        replacement.c.day <= bindparam("as_of"),
        or_(unit.c.id <= bindparam("all_up_to"), unit.c.id % bindparam("then_every") == 0),
    )
    .order_by(*IN_ORDER)
)
# All that was replaced, voided visits left out, with what was put in and by whom
FITTED = Statement(
    REPLACED.add_columns(MADE_BY, replacement.c.item, technician.c.code, visit.c.crew, STATED)
    .select_from(OF_VISITS.outerjoin(technician, technician.c.id == visit.c.technician_id))
    .where(visit.c.void.is_(None), replacement.c.day <= bindparam("as_of"))
    .order_by(*IN_ORDER)
)
SITES = Statement(select(unit.c.id, unit.c.tag, site.c.code).select_from(unit.join(site, site.c.id == unit.c.site_id)))


class Failures:
    """Which units have failures, and which failures a sample of the fleet has."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def to_search(self, unit_ids: Sequence[int]) -> list[int]:
        """Those of some units whose parts of one kind may have failed twice, or that have a root cause."""
        return sorted(row[0] for row in self.link.rows(TO_SEARCH, ids=id_text(unit_ids)))

    def twice(self, until: str, *, after: int, most: int, customer_code: str | None, tag: str | None) -> list[int]:
        """The next units from an identity on whose parts of one kind may have failed twice by a day.

        All replacements are asked for: what was voided since may have counted then, and a reason been corrected.
        """
        query = REPLACED_TWICE.where(replacement.c.day <= until, replacement.c.unit_id >= after)
        theirs = select(unit.c.id).join(customer, customer.c.id == unit.c.customer_id)
        if customer_code is not None:
            query = query.where(replacement.c.unit_id.in_(theirs.where(customer.c.code == customer_code)))
        if tag is not None:
            query = query.where(replacement.c.unit_id.in_(theirs.where(unit.c.tag == present_tag(tag))))
        each = query.subquery()
        found = self.link.core(select(each.c.unit_id).distinct().order_by(each.c.unit_id).limit(most))
        return [row[0] for row in found]

    def of_sample(self, all_up_to: int, then_every: int, *, as_of: date) -> Iterator[FailureHistory]:
        """Histories with nothing but failures, of the first units and then of every so many; only those with any."""
        rows = self.link.stream(FAILURES, all_up_to=all_up_to, then_every=then_every, as_of=as_of.isoformat())
        for _, own in groupby(rows, key=itemgetter(0)):
            yield _history(list(own), as_of)

    def fitted(self, *, as_of: date) -> Iterator[UnitParts]:
        """What was put into every unit, and how long it lasted; only units with any replacement."""
        rows = self.link.stream(FITTED, as_of=as_of.isoformat())
        for _, own in groupby(rows, key=itemgetter(0)):
            yield _parts(list(own), as_of)

    def sites(self) -> dict[int, tuple[str, str]]:
        """Tag and site of every unit."""
        return {unit_id: (tag, code) for unit_id, tag, code in self.link.stream(SITES)}


def _watched(
    row: tuple[Any, ...], replaced: Sequence[PartReplaced] | Sequence[Replaced], as_of: date
) -> tuple[date, date]:
    """From and to which day a unit is watched, by its first row and the day of the first replacement."""
    installed_on, care_from, retired_on, first_visit = row[2:6]
    first = (each.on for each in replaced if each.exact)
    days = [as_of, *islice(first, 1), *filter(None, [day(first_visit)])]
    start = watched_from(date.fromisoformat(care_from), day(installed_on), days)
    return start, min(day(retired_on) or as_of, as_of)


def _parts(rows: list[tuple[Any, ...]], as_of: date) -> UnitParts:
    replaced = [_replaced(row[6:], day(row[2])) for row in rows]
    return parts_of(rows[0][1], _watched(rows[0], replaced, as_of), replaced)


def _replaced(row: tuple[Any, ...], installed_on: date | None) -> Replaced:
    component, kind, on, reason, condition, by_whom, item, lead, crew, reported_on = row
    stated, earliest = uncertain(reported_on, installed_on, date.fromisoformat(on))
    put_in = {} if item is None else orjson.loads(item)
    technicians = tuple(dict.fromkeys(filter(None, [lead, *([] if crew is None else orjson.loads(crew))])))
    return Replaced(
        component, kind, date.fromisoformat(on), reason, condition, by_whom == "us",
        put_in.get("maker"), put_in.get("model"), technicians, stated is None, earliest,
    )  # fmt: skip


def _history(rows: list[tuple[Any, ...]], as_of: date) -> FailureHistory:
    replaced = tuple(_failed(row[6:], day(row[2])) for row in rows)
    return FailureHistory(rows[0][1], *_watched(rows[0], replaced, as_of), replaced=replaced)


def _failed(row: tuple[Any, ...], installed_on: date | None) -> PartReplaced:
    code, kind, on, reason, condition, evidence, by, visit_id, reported_on = row
    stated, earliest = uncertain(reported_on, installed_on, date.fromisoformat(on))
    return PartReplaced(
        code, kind, date.fromisoformat(on), reason, condition, evidence, by, visit_id, stated=stated, earliest=earliest
    )
