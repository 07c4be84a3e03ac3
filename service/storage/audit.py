"""The audit trail: only ever added to, each entry chained to the one before it by a hash."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from sqlalchemy import ColumnElement, bindparam, func, select

from service.domain.audit import NO_ENTRY, AuditFilter, Entry, chained
from service.domain.instants import from_text, to_text
from service.storage.engine.link import Link
from service.storage.engine.statements import Statement
from service.storage.tables import audit, audit_chain

NAMES = (
    *("at", "actor", "role", "token_id", "technician", "request_id"),
    *("action", "resource", "key", "before", "after"),
)
LOCK_NUMBER = 0x474C5943  # any number that no other program takes in this database
ADD_ENTRY = Statement(audit.insert().values({name: bindparam(name) for name in NAMES}).returning(audit.c.id))
ENTRY = [audit.c[name] for name in (*NAMES, "id")]
ENTRIES = select(*ENTRY, audit_chain.c.hash).select_from(audit.outerjoin(audit_chain))
LOCK = Statement(select(func.pg_advisory_xact_lock(LOCK_NUMBER)))
HEAD = Statement(select(audit_chain.c.number, audit_chain.c.hash).order_by(audit_chain.c.number.desc()).limit(1))
ADD_HASH = Statement(audit_chain.insert().values({column.name: bindparam(column.name) for column in audit_chain.c}))
CHAIN = Statement(
    select(audit_chain.c.number, audit_chain.c.audit_id, audit_chain.c.hash, *ENTRY)
    .select_from(audit_chain.outerjoin(audit))
    .order_by(audit_chain.c.number)
)
RESTORE = Statement(audit.insert().values({column.name: bindparam(column.name) for column in audit.c}))
HASH = Statement(select(audit_chain.c.hash).where(audit_chain.c.audit_id == bindparam("of_entry")))
# What the program finds or keeps by itself, and what is recorded with another record: first dates with their plan, a
# former tag and the first location of a unit with the change of the unit.
WITHOUT_ENTRY = ("audit", "baseline", "change", "root_cause", "first_date", "former_tag")
FIRST_LOCATION = "/first"  # ends its key
LAST_AFTER = Statement(
    select(audit.c.id, audit.c.after)
    .where(audit.c.resource == bindparam("resource"), audit.c.key == bindparam("key"))
    .order_by(audit.c.id.desc())
    .limit(1)
)
ANY = Statement(select(audit.c.id).limit(1))
COUNTER = func.pg_get_serial_sequence("audit", "id")
COUNT_ON = Statement(select(func.setval(COUNTER, func.max(audit.c.id))).select_from(audit))
UNCHAINED = Statement(
    select(func.min(audit.c.id)).select_from(audit.outerjoin(audit_chain)).where(audit_chain.c.number.is_(None))
)


def _entry(row: tuple[Any, ...], **more: Any) -> Entry:
    parts = dict(zip((*NAMES, "id"), row, strict=True))
    return Entry(**parts | {"at": from_text(parts["at"])}, **more)


def _values(entry: Entry) -> dict[str, Any]:
    return {name: getattr(entry, name) for name in NAMES} | {"at": to_text(entry.at)}


def _conditions(asked: AuditFilter, before: int | None) -> list[ColumnElement[bool]]:
    conditions = [audit.c[name] == value for name in ("resource", "key", "actor") if (value := getattr(asked, name))]
    if asked.since is not None:
        conditions.append(audit.c.at >= to_text(asked.since))
    if asked.until is not None:
        conditions.append(audit.c.at < to_text(asked.until))
    if before is not None:
        conditions.append(audit.c.id < before)
    return conditions


class Audit:
    """Every state change there was."""

    def __init__(self, link: Link) -> None:
        self.link = link
        self._new: list[tuple[int, Entry]] = []
        self._restored = False
        self.is_copied = False  # by this import, which adds entries only of what these do not account for

    def add(self, entry: Entry) -> None:
        """Append an entry; it is chained at the end of the transaction."""
        self._count_on()
        identity = self.link.value(ADD_ENTRY, **_values(entry))
        if not self._new:
            self.link.before_commit.append(self._chain)
        self._new.append((identity, entry))

    def is_empty(self) -> bool:
        """Whether there is no entry. On PostgreSQL nobody else chains one from here to the transaction's end."""
        self._lock()
        return self.link.row(ANY) is None

    def hash_of(self, identity: int) -> str | None:
        """The hash of the entry of this id, if it is in the chain."""
        found: str | None = self.link.value(HASH, of_entry=identity)
        return found

    def accounts_for(self, resource: str, key: str, after: str | None) -> bool:
        """Whether an entry is of this record, or needs to be; for a token, whether the last one has it as it is now."""
        if resource in WITHOUT_ENTRY or (resource == "location" and key.endswith(FIRST_LOCATION)):
            return True
        last = self.link.row(LAST_AFTER, resource=resource, key=key)
        return last is not None and (resource != "token" or last[1] == after)

    def restore(self, entry: Entry, number: int) -> None:
        """Store an entry of an export, with its id and hash, as this link of the chain."""
        if not self._restored:
            self.link.before_commit.append(self._count_on)
        self._restored = True
        self.link.run(RESTORE, id=entry.id, **_values(entry))
        self.link.run(ADD_HASH, number=number, audit_id=entry.id, hash=entry.hash)

    def page(self, asked: AuditFilter, *, before: int | None, limit: int) -> list[Entry]:
        """Entries, newest first, older than the entry of id `before`."""
        query = ENTRIES.where(*_conditions(asked, before)).order_by(audit.c.id.desc()).limit(limit)
        return [_entry(row[:-1], hash=row[-1]) for row in self.link.core(query)]

    def chain(self) -> Iterator[tuple[int, int, str, Entry | None]]:
        """Each link of the chain: its number, the id of its entry, its hash, and the entry, None where it is gone."""
        for number, identity, found, *row in self.link.stream(CHAIN):
            yield number, identity, found, None if row[-1] is None else _entry(tuple(row))

    def unchained(self) -> int | None:
        """The first entry that the chain does not hold."""
        first: int | None = self.link.value(UNCHAINED)
        return first

    def _chain(self) -> None:
        """Chain the transaction's entries. On PostgreSQL writers take turns from here to their commit."""
        self._lock()
        last, head = self.link.row(HEAD) or (0, NO_ENTRY)
        links = []
        for number, (identity, entry) in enumerate(self._new, last + 1):
            head = chained(head, replace(entry, id=identity))
            links.append({"number": number, "audit_id": identity, "hash": head})
        self.link.run_many(ADD_HASH, links)

    def _lock(self) -> None:
        if self.link.dialect == "postgresql":
            self.link.row(LOCK)

    def _count_on(self) -> None:
        """Let new ids follow those that were restored; SQLite does so by itself."""
        if self._restored and self.link.dialect == "postgresql":
            self.link.row(COUNT_ON)
        self._restored = False
