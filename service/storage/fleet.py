"""Customers, technicians and sites."""

from collections.abc import Iterable
from datetime import date
from functools import lru_cache
from typing import Any

import orjson
from sqlalchemy import bindparam, select, text

from service.domain.errors import NotFound, Stale
from service.domain.plain import stored
from service.domain.quantities import Quantity
from service.domain.record.fleet import Customer, Leave, OpeningHours, Site, Technician
from service.storage.documents import KEPT, day, day_text, read_many, write
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import by_key, insert_of, page_of, update_of
from service.storage.tables import customer, site, technician

CUSTOMERS = select(
    customer.c.code,
    customer.c.name,
    customer.c.contact,
    customer.c.phone,
    customer.c.email,
    customer.c.units_shown,
    customer.c.care_from,
    customer.c.ended_on,
    customer.c.version,
)
TECHNICIANS = select(
    technician.c.code,
    technician.c.name,
    technician.c.phone,
    technician.c.email,
    technician.c.left_on,
    technician.c.leave,
    technician.c.hours_per_day,
    technician.c.skills,
    technician.c.latitude,
    technician.c.longitude,
    technician.c.day_starts_at,
    technician.c.version,
)
SITES = select(
    site.c.code,
    customer.c.code.label("customer"),
    site.c.name,
    site.c.address,
    site.c.time_zone,
    site.c.latitude,
    site.c.longitude,
    site.c.surroundings,
    site.c.closed_weekdays,
    site.c.access,
    technician.c.code.label("technician"),
    site.c.care_from,
    site.c.ended_on,
    site.c.elevation,
    site.c.opening_hours,
    site.c.version,
).select_from(site.join(customer).outerjoin(technician))

CUSTOMER = Statement(CUSTOMERS.where(customer.c.code == bindparam("key")))
CUSTOMER_ID = by_key(customer, "code")
CUSTOMER_NAMES = Statement(select(customer.c.code, customer.c.name))
ADD_CUSTOMER = insert_of(customer)
SAVE_CUSTOMER = update_of(customer, "code")
TECHNICIAN = Statement(TECHNICIANS.where(technician.c.code == bindparam("key")))
TECHNICIAN_ID = by_key(technician, "code")
TECHNICIAN_IDS = Statement(select(technician.c.code, technician.c.id))
TECHNICIANS_BY_ID = Statement(select(technician.c.id, *TECHNICIANS.selected_columns))
ADD_TECHNICIAN = insert_of(technician)
SAVE_TECHNICIAN = update_of(technician, "code")
SITE = Statement(SITES.where(site.c.code == bindparam("key")))
SITE_IDS = Statement(select(site.c.id, site.c.customer_id).where(site.c.code == bindparam("key")))
ADD_SITE = insert_of(site)
SAVE_SITE = update_of(site, "code", "closures")
# Skips from zone to zone along the index: there are few zones and may be many sites.
ZONES = Statement(
    text(
        """
        WITH RECURSIVE zone (name) AS (
            SELECT min(time_zone) FROM site
            UNION ALL
            SELECT (SELECT min(time_zone) FROM site WHERE time_zone > zone.name) FROM zone WHERE zone.name IS NOT NULL
        )
        SELECT name FROM zone WHERE name IS NOT NULL
        """
    )
)


def _customer(row: tuple[Any, ...]) -> Customer:
    parts = dict(zip((column.name for column in CUSTOMERS.selected_columns), row, strict=True))
    days = {name: day(parts[name]) for name in ("care_from", "ended_on")}
    return Customer(**parts | days)


def _technician(row: tuple[Any, ...]) -> Technician:
    parts = dict(zip((column.name for column in TECHNICIANS.selected_columns), row, strict=True))
    skills = tuple(orjson.loads(parts["skills"])) if parts["skills"] else ()
    return Technician(
        **parts | {"left_on": day(parts["left_on"]), "leave": read_leave(parts["leave"]), "skills": skills}
    )


def read_leave(text: str | None) -> tuple[Leave, ...]:
    """The periods of leave as they are stored: pairs of days."""
    pairs = orjson.loads(text) if text else []
    return tuple(Leave(from_=date.fromisoformat(first), until=date.fromisoformat(last)) for first, last in pairs)


@lru_cache(maxsize=KEPT)
def _length(kept: str | None) -> Quantity | None:
    return None if kept is None else Quantity(*orjson.loads(kept))


def read_site(row: tuple[Any, ...]) -> Site:
    """A site from its row in `SITES`."""
    names = (column.name for column in SITES.selected_columns)
    parts = dict(zip(names, row, strict=True))
    closed = parts.pop("closed_weekdays")
    parts |= {"care_from": day(parts["care_from"]), "ended_on": day(parts["ended_on"])}
    parts["elevation"] = _length(parts["elevation"])
    parts["opening_hours"] = read_many(OpeningHours, parts["opening_hours"])
    return Site(**parts, closed_weekdays=tuple(closed.split(",")) if closed else ())


class Customers:
    """The customers of the database."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def get(self, code: str) -> Customer:
        """The customer, or NotFound."""
        row = self.link.row(CUSTOMER, key=code)
        if row is None:
            raise NotFound("customer", code)
        return _customer(row)

    def names(self) -> dict[str, str]:
        """The names of all customers by code."""
        return dict(self.link.rows(CUSTOMER_NAMES))

    def id_of(self, code: str) -> int | None:
        """The identity of a customer, None when there is none."""
        row = self.link.row(CUSTOMER_ID, key=code)
        return None if row is None else int(row[0])

    def add(self, new: Customer) -> None:
        """Store a new customer; Conflict when the code is taken."""
        self.link.value(ADD_CUSTOMER, **self._values(new))

    def save(self, changed: Customer) -> None:
        """Store a changed customer; Stale when another change came first."""
        if not self.link.run(
            SAVE_CUSTOMER, key=changed.code, former_version=changed.version - 1, **self._values(changed, new=False)
        ):
            raise Stale("customer", changed.code)

    def page(self, *, after: str | None, limit: int) -> list[Customer]:
        """Customers in the order of their codes."""
        return [
            _customer(row) for row in self.link.core(page_of(CUSTOMERS, customer, "code", after=after, limit=limit))
        ]

    @staticmethod
    def _values(given: Customer, *, new: bool = True) -> dict[str, Any]:
        names = ("name", "contact", "phone", "email", "units_shown", "version")
        named = {name: getattr(given, name) for name in (("code", *names) if new else names)}
        return named | {"care_from": day_text(given.care_from), "ended_on": day_text(given.ended_on)}


class Technicians:
    """Those who visit, and those who did."""

    def __init__(self, link: Link) -> None:
        self.link = link
        self._ids: dict[str, int] = {}

    def get(self, code: str) -> Technician:
        """The technician, or NotFound."""
        row = self.link.row(TECHNICIAN, key=code)
        if row is None:
            raise NotFound("technician", code)
        return _technician(row)

    def id_of(self, code: str) -> int | None:
        """The identity of a technician, None when there is none; one that was found is never deleted."""
        if code not in self._ids:
            row = self.link.row(TECHNICIAN_ID, key=code)
            if row is None:
                return None
            self._ids[code] = int(row[0])
        return self._ids[code]

    def by_id(self) -> dict[int, Technician]:
        """All technicians by their identities."""
        return {row[0]: _technician(row[1:]) for row in self.link.rows(TECHNICIANS_BY_ID)}

    def ids(self) -> dict[str, int]:
        """The identities of all technicians by code."""
        return dict(self.link.rows(TECHNICIAN_IDS))

    def add(self, new: Technician) -> None:
        """Store a new technician; Conflict when the code is taken."""
        self.link.value(ADD_TECHNICIAN, code=new.code, **self._values(new))

    def save(self, changed: Technician) -> None:
        """Store a changed technician; Stale when another change came first."""
        values = self._values(changed)
        if not self.link.run(SAVE_TECHNICIAN, key=changed.code, former_version=changed.version - 1, **values):
            raise Stale("technician", changed.code)

    def page(self, *, after: str | None, limit: int) -> list[Technician]:
        """Technicians in the order of their codes."""
        query = page_of(TECHNICIANS, technician, "code", after=after, limit=limit)
        return [_technician(row) for row in self.link.core(query)]

    @staticmethod
    def _values(given: Technician) -> dict[str, Any]:
        names = ("name", "phone", "email", "hours_per_day", "latitude", "longitude", "day_starts_at", "version")
        return {name: getattr(given, name) for name in names} | {
            "left_on": day_text(given.left_on),
            "leave": orjson.dumps([(each.from_, each.until) for each in given.leave]).decode() if given.leave else None,
            "skills": orjson.dumps(given.skills).decode() if given.skills else None,
        }


class Sites:
    """The places where units are."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def get(self, code: str) -> Site:
        """The site, or NotFound."""
        row = self.link.row(SITE, key=code)
        if row is None:
            raise NotFound("site", code)
        return read_site(row)

    def ids_of(self, code: str) -> tuple[int, int] | None:
        """The identities of a site and its customer, None when there is no such site."""
        row = self.link.row(SITE_IDS, key=code)
        return None if row is None else (row[0], row[1])

    def add(self, new: Site, *, customer_id: int, technician_id: int | None) -> None:
        """Store a new site; Conflict when the code is taken."""
        values = self._values(new) | {"customer_id": customer_id, "technician_id": technician_id}
        self.link.value(ADD_SITE, code=new.code, closures=None, **values)

    def save(self, changed: Site, *, customer_id: int, technician_id: int | None) -> None:
        """Store a changed site; Stale when another change came first."""
        values = self._values(changed) | {"customer_id": customer_id, "technician_id": technician_id}
        if not self.link.run(SAVE_SITE, key=changed.code, former_version=changed.version - 1, **values):
            raise Stale("site", changed.code)

    def page(self, *, after: str | None, limit: int, customer_code: str | None = None) -> list[Site]:
        """Sites in the order of their codes, of one customer or of all."""
        query = page_of(SITES, site, "code", after=after, limit=limit)
        if customer_code is not None:
            query = query.where(customer.c.code == customer_code)
        return [read_site(row) for row in self.link.core(query)]

    def zones(self) -> Iterable[str]:
        """The time zones in which there are sites."""
        return [row[0] for row in self.link.rows(ZONES)]

    @staticmethod
    def _values(given: Site) -> dict[str, Any]:
        names = ("name", "address", "time_zone", "latitude", "longitude", "surroundings", "access", "version")
        plain = {name: getattr(given, name) for name in names}
        return plain | {
            "closed_weekdays": ",".join(given.closed_weekdays),
            "care_from": day_text(given.care_from),
            "ended_on": day_text(given.ended_on),
            "opening_hours": write(given.opening_hours or None),
            "elevation": given.elevation and orjson.dumps(stored(given.elevation)).decode(),
        }
