"""What the fleet's year is counted from: a range of units at a time, one plain query a kind of row."""

from collections.abc import Mapping
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import bindparam, null, select

from service.domain.maintenance.due import Performed
from service.domain.record.fleet import Component, Site, Unit
from service.domain.summary.cases import Decision
from service.domain.summary.lines import ReplacementLine, VisitLine
from service.domain.summary.settings import Before
from service.storage.documents import day
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.summary_rows import (
    COUNTS,
    REPLACEMENT,
    VISIT,
    befores,
    decisions_of,
    decisions_where,
    grouped,
    own_changes_where,
    replacement_line,
    visit_line,
)
from service.storage.tables import (
    component,
    customer,
    replacement,
    site,
    task_result,
    technician,
    unit,
    visit,
)

IN_RANGE: tuple[Any, Any] = (bindparam("low"), bindparam("high"))
UNUSED = {technician.c.code, visit.c.words, visit.c.work, visit.c.advice}  # words of thousands of visits weigh
IN_TIME = (visit.c.unit_id, visit.c.arrived_at, visit.c.id)
UNITS_AFTER = Statement(
    select(
        unit.c.id,
        unit.c.tag,
        unit.c.maker,
        unit.c.model,
        unit.c.place,
        unit.c.installed_on,
        unit.c.retired_on,
        unit.c.registered_on,
        unit.c.version,
        site.c.code,
        site.c.name,
        site.c.time_zone,
        site.c.surroundings,
        site.c.closed_weekdays,
        site.c.version,
        customer.c.code,
        customer.c.name,
    )
    .select_from(unit.join(site, site.c.id == unit.c.site_id).join(customer, customer.c.id == unit.c.customer_id))
    .where(unit.c.id > bindparam("after"))
    .order_by(unit.c.id)
    .limit(bindparam("most"))
)
VISITS_IN = Statement(
    select(visit.c.unit_id, unit.c.tag, *(null() if column in UNUSED else column for column in VISIT))
    .select_from(visit.join(unit, unit.c.id == visit.c.unit_id))
    .where(COUNTS, visit.c.unit_id.between(*IN_RANGE))
    .order_by(*IN_TIME)
)
PERFORMED_IN = Statement(
    select(
        visit.c.unit_id,
        task_result.c.task,
        task_result.c.day,
        task_result.c.result,
        task_result.c.as_found,
        task_result.c.reason,
    )
    .select_from(visit.join(task_result, task_result.c.visit_id == visit.c.id))
    .where(COUNTS, visit.c.unit_id.between(*IN_RANGE))
    .order_by(*IN_TIME, task_result.c.position)
)
REPLACEMENTS_IN = Statement(
    select(visit.c.unit_id, unit.c.tag, *REPLACEMENT)
    .select_from(
        visit.join(replacement, replacement.c.visit_id == visit.c.id)
        .join(unit, unit.c.id == visit.c.unit_id)
        .join(component, (component.c.unit_id == visit.c.unit_id) & (component.c.code == replacement.c.component))
    )
    .where(COUNTS, visit.c.unit_id.between(*IN_RANGE))
    .order_by(*IN_TIME, replacement.c.position)
)
COMPONENTS_IN = Statement(
    select(component.c.unit_id, component.c.code, component.c.kind)
    .where(component.c.unit_id.between(*IN_RANGE))
    .order_by(component.c.unit_id, component.c.position)
)
OWN_CHANGES_IN = own_changes_where(unit.c.id.between(*IN_RANGE))
DECISIONS_IN = decisions_where(unit.c.id.between(*IN_RANGE))


class FleetPlace(NamedTuple):
    """A unit and its site, as far as the fleet's year asks, and whose they are."""

    id: int
    unit: Unit
    site: Site
    customer: str
    customer_name: str


class FleetYears:
    """Rows of a range of units by unit identity; visits count up to the instant `as_of`, as it is stored."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def places(self, after: int, most: int) -> list[FleetPlace]:
        """The next units by identity."""
        return [_place(row) for row in self.link.rows(UNITS_AFTER, after=after, most=most)]

    def visits(self, low: int, high: int, as_of: str) -> Mapping[int, list[tuple[int, VisitLine]]]:
        """(version, visit) of every visit that counts, without its words."""
        rows = self.link.rows(VISITS_IN, low=low, high=high, as_of=as_of)
        return grouped((row[0], (row[2], visit_line(row[1:]))) for row in rows)

    def performed(self, low: int, high: int, as_of: str) -> Mapping[int, list[Performed]]:
        """Every task result."""
        rows = self.link.rows(PERFORMED_IN, low=low, high=high, as_of=as_of)
        return grouped((row[0], Performed(row[1], date.fromisoformat(row[2]), *row[3:])) for row in rows)

    def replacements(self, low: int, high: int, as_of: str) -> Mapping[int, list[ReplacementLine]]:
        """Every replacement, by its own day."""
        rows = self.link.rows(REPLACEMENTS_IN, low=low, high=high, as_of=as_of)
        found = grouped((row[0], replacement_line(row[1:])) for row in rows)
        return {unit_id: sorted(lines, key=lambda line: line.on) for unit_id, lines in found.items()}

    def components(self, low: int, high: int) -> Mapping[int, list[Component]]:
        """Code and kind of each unit's components, those taken out included."""
        rows = self.link.rows(COMPONENTS_IN, low=low, high=high)
        return grouped((unit_id, Component(code=code, kind=kind)) for unit_id, code, kind in rows)

    def own_changes(self, low: int, high: int) -> Mapping[tuple[str, str], list[Before]]:
        """By unit and task what was set for the unit before each change, the oldest first."""
        return befores(self.link.rows(OWN_CHANGES_IN, low=low, high=high))

    def decisions(self, low: int, high: int) -> Mapping[tuple[str, str], list[Decision]]:
        """By unit and component kind what was decided on its root-cause candidates, the oldest first."""
        return decisions_of(self.link.rows(DECISIONS_IN, low=low, high=high))


def _place(row: tuple[Any, ...]) -> FleetPlace:
    identity, tag, maker, model, place, installed_on, retired_on, registered_on, version, *rest = row
    code, name, time_zone, surroundings, closed, site_version, customer_code, customer_name = rest
    known = Unit(
        tag=tag,
        site=code,
        maker=maker,
        model=model,
        place=place,
        installed_on=day(installed_on),
        retired_on=day(retired_on),
        registered_on=date.fromisoformat(registered_on),
        version=version,
    )
    stands = Site(
        code=code,
        customer=customer_code,
        name=name,
        time_zone=time_zone,
        surroundings=surroundings,
        closed_weekdays=tuple(closed.split(",")) if closed else (),
        version=site_version,
    )
    return FleetPlace(identity, known, stands, customer_code, customer_name)
