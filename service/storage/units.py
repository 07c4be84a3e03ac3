"""Glycol units with their components and trunks."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import ColumnElement, Select, bindparam, func, or_, select

from service.domain.errors import NotFound, Stale
from service.domain.quantities import Quantity
from service.domain.record.care import LastDone
from service.domain.record.fleet import Bath, Component, Refrigeration, Supply, Trunk, Unit, UnitFilter
from service.storage.documents import day, day_text, read, read_many, write
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of, page_of
from service.storage.places import Place, Places
from service.storage.tables import component, customer, former_tag, site, unit
from service.storage.tags import present_tag

BEFORE, AFTER = unit.alias("before"), unit.alias("after")
UNITS = select(
    unit.c.id,
    unit.c.tag,
    site.c.code,
    unit.c.maker,
    unit.c.model,
    unit.c.serial,
    unit.c.place,
    unit.c.installed_on,
    unit.c.installed_by,
    unit.c.retired_on,
    unit.c.registered_on,
    unit.c.care_from,
    unit.c.last_done,
    unit.c.supply,
    unit.c.refrigeration,
    unit.c.bath,
    unit.c.trunks,
    BEFORE.c.tag,
    AFTER.c.tag,
    func.coalesce(AFTER.c.installed_on, AFTER.c.registered_on),
    unit.c.version,
).select_from(
    unit.join(site, site.c.id == unit.c.site_id)
    .outerjoin(BEFORE, BEFORE.c.id == unit.c.replaces_id)
    .outerjoin(AFTER, AFTER.c.replaces_id == unit.c.id)
)
COMPONENTS = select(
    component.c.unit_id,
    component.c.code,
    component.c.kind,
    component.c.details,
    component.c.installed_on,
    component.c.removed_on,
).order_by(component.c.unit_id, component.c.position)
UNIT = Statement(UNITS.where(unit.c.tag == present_tag(bindparam("key"))))
COMPONENTS_OF = Statement(COMPONENTS.where(component.c.unit_id == bindparam("unit_id")))
ADD_UNIT = insert_of(unit)
FIXED = ("id", "tag", "log_version", "due_version", "due_rules", "pauses", "replaces_id")
SAVE_UNIT = Statement(
    unit.update()
    .values({column.name: bindparam(column.name) for column in unit.c if column.name not in FIXED})
    .where(unit.c.tag == bindparam("key"), unit.c.version == bindparam("former_version"))
)
ADD_COMPONENT = insert_of(component)
DROP_COMPONENTS = Statement(component.delete().where(component.c.unit_id == bindparam("unit_id")))
COUNT_ON = Statement(unit.update().values(version=unit.c.version + 1).where(unit.c.id == bindparam("unit_id")))
STAND = Statement(
    unit.update()
    .values(site_id=bindparam("to_site"), customer_id=bindparam("to_customer"), version=unit.c.version + 1)
    .where(unit.c.id == bindparam("unit_id"))
)
REPLACE = Statement(unit.update().values(replaces_id=bindparam("replaced_id")).where(unit.c.id == bindparam("of_unit")))
OF_PLACE = (site.c.code, site.c.name, site.c.address, customer.c.name, customer.c.phone)
COUNT = Statement(select(func.count()).select_from(unit))


def component_of(row: tuple[Any, ...]) -> Component:
    """A component from its row in `COMPONENTS`."""
    _, code, kind, details, installed_on, removed_on = row
    known = read(_Details, details) or _Details()
    return Component(
        code=code,
        kind=kind,
        installed_on=day(installed_on),
        removed_on=day(removed_on),
        **{name: getattr(known, name) for name in _Details.__slots__},
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Details:
    """Fields of a component that are recorded and never searched for."""

    feeds: tuple[str, ...] = ()
    rated_current: Quantity | None = None
    rated_power: Quantity | None = None
    rating: str | None = None
    maker: str | None = None
    model: str | None = None


def read_unit(row: tuple[Any, ...], components: Sequence[Component]) -> Unit:
    """A unit from its row in `UNITS` and its components."""
    _, tag, site_code, maker, model, serial, place, installed_on, installed_by, retired_on, registered_on = row[:11]
    care_from, last_done, supply, refrigeration, bath, trunks, replaces, replaced_by, replaced_on, version = row[11:]
    return Unit(
        tag=tag,
        site=site_code,
        maker=maker,
        model=model,
        serial=serial,
        place=place,
        installed_on=day(installed_on),
        installed_by=installed_by,
        retired_on=day(retired_on),
        registered_on=date.fromisoformat(registered_on),
        care_from=day(care_from),
        last_done=read_many(LastDone, last_done),
        supply=read(Supply, supply),
        refrigeration=read(Refrigeration, refrigeration),
        bath=read(Bath, bath),
        components=tuple(components),
        trunks=read_many(Trunk, trunks),
        replaces=replaces,
        replaced_by=replaced_by,
        replaced_on=day(replaced_on),
        version=version,
    )


def _columns(given: Unit) -> dict[str, Any]:
    plain = ("maker", "model", "serial", "place", "installed_by", "version")
    return {name: getattr(given, name) for name in plain} | {
        "installed_on": day_text(given.installed_on),
        "retired_on": day_text(given.retired_on),
        "registered_on": given.registered_on.isoformat(),
        "care_from": day_text(given.care_from),
        "last_done": write(given.last_done) if given.last_done else None,
        "supply": write(given.supply),
        "refrigeration": write(given.refrigeration),
        "bath": write(given.bath),
        "trunks": write(given.trunks) if given.trunks else None,
    }


class Units(Places):
    """The fleet."""

    def get(self, tag: str) -> Unit:
        """The unit with all its parts, or NotFound."""
        row = self.link.row(UNIT, key=tag)
        if row is None:
            raise NotFound("unit", tag)
        return read_unit(row, [component_of(part) for part in self.link.rows(COMPONENTS_OF, unit_id=row[0])])

    def count(self) -> int:
        """How many units there are, retired ones too."""
        return int(self.link.value(COUNT))

    def add(self, new: Unit, *, site_id: int, customer_id: int) -> None:
        """Store a new unit; Conflict when the tag is taken."""
        own = {"site_id": site_id, "customer_id": customer_id, "log_version": 1, "due_version": 0, "due_rules": 0}
        unit_id = self.link.value(ADD_UNIT, tag=new.tag, pauses=None, replaces_id=None, **own, **_columns(new))
        self._write_components(new, unit_id, customer_id)

    def save(self, changed: Unit, *, site_id: int, customer_id: int) -> None:
        """Store a changed unit; Stale when another change came first."""
        values = _columns(changed) | {"site_id": site_id, "customer_id": customer_id}
        if not self.link.run(SAVE_UNIT, key=changed.tag, former_version=changed.version - 1, **values):
            raise Stale("unit", changed.tag)
        unit_id = self.place(changed.tag).id
        self.link.run(DROP_COMPONENTS, unit_id=unit_id)
        self._write_components(changed, unit_id, customer_id)

    def stand(self, place: Place, there: Place) -> None:
        """Store the site where a unit stands now; its version counts on."""
        ids = {"to_site": there.site_id, "to_customer": there.customer_id}
        self.link.run(STAND, unit_id=place.id, **ids)

    def replace(self, place: Place, replaced_id: int | None) -> None:
        """Store which unit this one replaces; Conflict where another one does."""
        self.link.run(REPLACE, of_unit=place.id, replaced_id=replaced_id)

    def count_on(self, place: Place) -> None:
        """Count a change of what a unit's answer shows."""
        self.link.run(COUNT_ON, unit_id=place.id)

    def page(self, wanted: UnitFilter, *, after: str | None, limit: int) -> list[Unit]:
        """Units in the order of their tags."""
        rows = self.link.core(page_of(_narrowed(wanted), unit, "tag", after=after, limit=limit))
        parts: dict[int, list[Component]] = {row[0]: [] for row in rows}
        for part in self.link.core(COMPONENTS.where(component.c.unit_id.in_(list(parts)))):
            parts[part[0]].append(component_of(tuple(part)))
        return [read_unit(tuple(row), parts[row[0]]) for row in rows]

    def add_component(self, place: Place, new: Component, *, position: int) -> None:
        """Add a component to a unit, whose version counts on."""
        self.link.run(ADD_COMPONENT, **_component_columns(new, place.id, place.customer_id, position))
        self.link.run(COUNT_ON, unit_id=place.id)

    def _write_components(self, given: Unit, unit_id: int, customer_id: int) -> None:
        rows = [_component_columns(part, unit_id, customer_id, n) for n, part in enumerate(given.components)]
        if rows:
            self.link.run_many(ADD_COMPONENT, rows)


def _component_columns(part: Component, unit_id: int, customer_id: int, position: int) -> dict[str, Any]:
    return {
        "unit_id": unit_id,
        "customer_id": customer_id,
        "position": position,
        "code": part.code,
        "kind": part.kind,
        "installed_on": day_text(part.installed_on),
        "removed_on": day_text(part.removed_on),
        "details": write(_Details(**{name: getattr(part, name) for name in _Details.__slots__})),
    }


def _in_service(today_in: Mapping[str, date]) -> ColumnElement[bool]:
    """Not retired yet by the date at the site; there are at most three dates at a time."""
    zones: dict[date, list[str]] = {}
    for zone, today in today_in.items():
        zones.setdefault(today, []).append(zone)
    return or_(
        unit.c.retired_on.is_(None),
        *((unit.c.retired_on > day_text(today)) & site.c.time_zone.in_(names) for today, names in zones.items()),
    )


def _narrowed(wanted: UnitFilter) -> Select[Any]:
    query = UNITS.join(customer, customer.c.id == unit.c.customer_id)
    if wanted.customer is not None:
        query = query.where(customer.c.code == wanted.customer)
    if wanted.site is not None:
        query = query.where(site.c.code == wanted.site)
    if wanted.tag is not None:
        query = query.where(unit.c.tag == present_tag(wanted.tag))
    if not wanted.retired:
        query = query.where(_in_service(wanted.today_in))
    if wanted.text is not None:
        searched = (unit.c.tag, unit.c.maker, unit.c.model, unit.c.serial, unit.c.place, *OF_PLACE)
        sought = "".join(letter.lower() if letter.isascii() else letter for letter in wanted.text)  # as lower() does
        found = [func.lower(column).contains(sought, autoescape=True) for column in searched]
        had = select(former_tag.c.tag).where(
            former_tag.c.unit_id == unit.c.id, func.lower(former_tag.c.tag).contains(sought, autoescape=True)
        )
        query = query.where(or_(*found, had.exists()))
    return query
