"""Customers' calls."""

from collections.abc import Mapping, Sequence
from typing import Any

import orjson
from sqlalchemy import Select, bindparam, case, func, select, tuple_

from service.domain.errors import NotFound, Stale
from service.domain.instants import from_text, to_text
from service.domain.plain import from_plain
from service.domain.record.calls import WAITING, Call, CalledBy, CallFilter, Promised
from service.storage.company import OUR_ZONE
from service.storage.documents import day, day_text
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of, update_of
from service.storage.tables import call, change, site, technician, unit, visit, visit_call
from service.storage.tags import present_tag

PLAIN = ("symptom", "words", "urgency", "state", "how", "why", "advice", "visit", "posted_by", "version")
ZONE = func.coalesce(site.c.time_zone, OUR_ZONE)
CALLS = select(
    call.c.id,
    call.c.uuid,
    site.c.code,
    ZONE.label("time_zone"),
    unit.c.tag,
    technician.c.code,
    call.c.by_name,
    call.c.by_phone,
    call.c.received_at,
    call.c.promised_from,
    call.c.promised_until,
    call.c.day,
    call.c.closed_at,
    call.c.posted_at,
    call.c.skills,
    *(call.c[name] for name in PLAIN),
).select_from(
    call.outerjoin(site, site.c.id == call.c.site_id)
    .outerjoin(unit, unit.c.id == call.c.unit_id)
    .outerjoin(technician, technician.c.id == call.c.technician_id)
)
CALL = Statement(CALLS.where(call.c.uuid == bindparam("key")))
KNOWN = Statement(select(call.c.fingerprint).where(call.c.uuid == bindparam("key")))
HOLD = Statement(select(call.c.id).where(call.c.uuid == bindparam("key")).with_for_update())
ADD = insert_of(call)
SAVE = update_of(call, "uuid")
ANSWER = Statement(
    call.update()
    .values({name: bindparam(f"new_{name}") for name in ("state", "how", "closed_at", "visit", "version")})
    .where(call.c.uuid == bindparam("key"))
)
WAITING_CALLS = Statement(
    CALLS.add_columns(call.c.site_id, call.c.unit_id, func.coalesce(call.c.technician_id, site.c.technician_id))
    .where(call.c.state.in_(WAITING))
    .order_by(call.c.received_at, call.c.uuid)
)
IN_ORDER = Statement(CALLS.where(call.c.id > bindparam("after")).order_by(call.c.id).limit(bindparam("most")))
# The visits that count and name the call, the first by arrival first.
ANSWERING = Statement(
    select(visit.c.uuid, visit.c.arrived_at, unit.c.tag)
    .select_from(
        visit_call.join(visit, visit.c.id == visit_call.c.visit_id).join(unit, unit.c.id == visit_call.c.unit_id)
    )
    .where(visit_call.c.call == bindparam("key"), visit.c.void.is_(None))
    .order_by(visit.c.arrived_at, visit.c.id)
)
NAMING_UNITS = Statement(
    select(unit.c.tag)
    .select_from(visit_call.join(unit, unit.c.id == visit_call.c.unit_id))
    .where(visit_call.c.call == bindparam("key"))
    .distinct()
    .order_by(unit.c.tag)
)
NAMING_NO_SITE = Statement(
    select(unit.c.tag)
    .select_from(visit_call.join(unit, unit.c.id == visit_call.c.unit_id).join(call, call.c.uuid == visit_call.c.call))
    .where(call.c.site_id.is_(None))
    .distinct()
    .order_by(unit.c.tag)
)
COLUMNS = len(CALLS.selected_columns)


def read_call(row: Sequence[Any]) -> Call:
    """A call from its row in `CALLS`."""
    _, uuid, site_code, zone, tag, technician_code, name, phone, received_at, first, last, on, closed = row[:13]
    posted, skills = row[13:15]
    return Call(
        id=uuid,
        site=site_code,
        unit=tag,
        time_zone=zone,
        technician=technician_code,
        by=CalledBy(name=name, phone=phone) if name or phone else None,
        received_at=from_text(received_at),
        promised=None if first is None else Promised(from_=from_text(first), until=from_text(last)),
        day=day(on),
        at=None if closed is None else from_text(closed),
        posted_at=from_text(posted),
        skills=tuple(orjson.loads(skills)) if skills else (),
        **dict(zip(PLAIN, row[15:COLUMNS], strict=True)),
    )


def _values(given: Call, refers: dict[str, int | None]) -> dict[str, Any]:
    promised, by = given.promised, given.by or CalledBy()
    return refers | {
        **{name: getattr(given, name) for name in PLAIN},
        "by_name": by.name,
        "by_phone": by.phone,
        "received_at": to_text(given.received_at),
        "promised_from": promised and to_text(promised.from_),
        "promised_until": promised and to_text(promised.until),
        "day": day_text(given.day),
        "closed_at": given.at and to_text(given.at),
        "posted_at": to_text(given.posted_at),
        "skills": orjson.dumps(given.skills).decode() if given.skills else None,
    }


def _known_then(ends: Mapping[str, str]) -> Select[Any]:
    """What each call was at the instant of the time zone of its site, without one at that of the company."""
    at_site = call.outerjoin(site, site.c.id == call.c.site_id)
    then = case(ends, value=ZONE)
    last = (
        select(func.max(change.c.id))
        .select_from(change.join(at_site, call.c.uuid == change.c.key))
        .where(change.c.resource == "call", change.c.at <= then)
        .group_by(change.c.key)
    )
    return (
        select(change.c.after)
        .select_from(change.join(at_site, call.c.uuid == change.c.key))
        .where(change.c.id.in_(last))
        .order_by(call.c.received_at, call.c.uuid)
    )


class Calls:
    """All calls there were."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def get(self, call_id: str, *, to_write: bool = False) -> Call:
        """The call, or NotFound; `to_write` keeps other writers of it waiting."""
        if to_write and self.link.dialect == "postgresql":
            self.link.row(HOLD, key=call_id)
        row = self.link.row(CALL, key=call_id)
        if row is None:
            raise NotFound("call", call_id)
        return read_call(row)

    def fingerprint(self, call_id: str) -> str | None:
        """The fingerprint of the body that first made this call, None when there is none."""
        found: str | None = self.link.value(KNOWN, key=call_id)
        return found

    def add(self, new: Call, *, refers: dict[str, int | None], fingerprint: str) -> None:
        """Store a new call; Conflict when the id is taken. `refers` has the identities of what it names."""
        self.link.value(ADD, uuid=new.id, fingerprint=fingerprint, **_values(new, refers))

    def save(self, changed: Call, *, refers: dict[str, int | None]) -> None:
        """Store a changed call; Stale when another change came first."""
        values = _values(changed, refers) | {"fingerprint": self.fingerprint(changed.id)}
        if not self.link.run(SAVE, key=changed.id, former_version=changed.version - 1, **values):
            raise Stale("call", changed.id)

    def answer(self, changed: Call) -> None:
        """Store which visit answers a call, or that it waits again."""
        closed_at = changed.at and to_text(changed.at)
        own = {"state": changed.state, "how": changed.how, "closed_at": closed_at, "visit": changed.visit}
        self.link.run(
            ANSWER,
            key=changed.id,
            new_version=changed.version,
            **{f"new_{name}": value for name, value in own.items()},
        )

    def waiting(self) -> list[tuple[Call, int, int, int | None]]:
        """The calls still to be answered, the oldest first, each with site, unit (0 where unknown) and technician.

        The technician is the one who goes there, else the one who usually serves the site.
        """
        return [(read_call(row), row[-3] or 0, row[-2] or 0, row[-1]) for row in self.link.rows(WAITING_CALLS)]

    def waiting_then(self, ends: Mapping[str, str]) -> list[Call]:
        """The calls still to be answered, by what had been recorded at an instant: that of each time zone.

        Where they were is for the caller to find out: their time zone is not read.
        """
        known = [
            from_plain(Call, orjson.loads(after) | {"time_zone": "UTC"})
            for (after,) in self.link.core(_known_then(ends))
        ]
        return [call for call in known if call.waiting]

    def answering(self, call_id: str) -> tuple[str, str, str] | None:
        """(id, arrival, unit) of the first visit that counts and names the call."""
        row = self.link.row(ANSWERING, key=call_id)
        return None if row is None else (row[0], row[1], row[2])

    def units_without_site(self) -> list[str]:
        """The units whose visits name a call without a site."""
        return [row[0] for row in self.link.rows(NAMING_NO_SITE)]

    def naming_units(self, call_id: str) -> list[str]:
        """The units whose visits name the call, voided visits included."""
        return [row[0] for row in self.link.rows(NAMING_UNITS, key=call_id)]

    def in_order(self, after: int, most: int) -> tuple[list[Call], int | None]:
        """The next calls as they were posted, for going through all of them; with the position to continue from."""
        rows = list(self.link.rows(IN_ORDER, after=after, most=most))
        return [read_call(row) for row in rows], (rows[-1][0] if len(rows) == most else None)

    def page(self, wanted: CallFilter, *, after: tuple[str, str] | None, limit: int) -> list[Call]:
        """Calls newest first, behind (received_at, id) of the last one seen."""
        query = CALLS
        tag = None if wanted.unit is None else present_tag(wanted.unit)
        named = ((call.c.state, wanted.state), (site.c.code, wanted.site), (unit.c.tag, tag))
        for column, value in named:
            if value is not None:
                query = query.where(column == value)
        if wanted.since is not None:
            query = query.where(call.c.received_at >= wanted.since)
        if after is not None:
            query = query.where(tuple_(call.c.received_at, call.c.uuid) < tuple_(*after))
        rows = self.link.core(query.order_by(call.c.received_at.desc(), call.c.uuid.desc()).limit(limit))
        return [read_call(row) for row in rows]
