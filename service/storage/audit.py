"""The audit trail: only ever added to."""

from typing import Any

from sqlalchemy import ColumnElement, bindparam, select

from service.domain.audit import AuditFilter, Entry
from service.domain.instants import from_text, to_text
from service.storage.engine.link import Link
from service.storage.engine.statements import Statement
from service.storage.tables import audit

NAMES = ("at", "actor", "role", "request_id", "action", "resource", "key", "before", "after")
ADD_ENTRY = Statement(audit.insert().values({name: bindparam(name) for name in NAMES}))
ENTRIES = select(*(audit.c[name] for name in NAMES), audit.c.id)


def _entry(row: tuple[Any, ...]) -> Entry:
    parts = dict(zip((*NAMES, "id"), row, strict=True))
    return Entry(**parts | {"at": from_text(parts["at"])})


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

    def add(self, entry: Entry) -> None:
        """Append an entry."""
        values = {name: getattr(entry, name) for name in NAMES}
        self.link.run(ADD_ENTRY, **values | {"at": to_text(entry.at)})

    def page(self, asked: AuditFilter, *, before: int | None, limit: int) -> list[Entry]:
        """Entries, newest first, older than the entry of id `before`."""
        query = ENTRIES.where(*_conditions(asked, before)).order_by(audit.c.id.desc()).limit(limit)
        return [_entry(row) for row in self.link.core(query)]
