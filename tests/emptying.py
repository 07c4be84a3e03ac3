"""Empties the tables of a test's database, the audit trail too, which the program itself cannot."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from sqlalchemy import Table, text

from service.storage.engine.link import Link
from service.storage.tables import session, sign_in_link, token

TRIGGERS = text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")


def empty(link: Link, tables: Sequence[Table]) -> None:
    """Delete all rows of the tables, which come with those first that point to others; and the technicians' tokens."""
    with unguarded(link):
        link.core(session.delete())
        link.core(sign_in_link.delete())
        link.core(token.delete().where(token.c.technician_id.is_not(None)))
        for table in tables:
            link.core(table.delete())


@contextmanager
def unguarded(link: Link) -> Iterator[None]:
    """The audit trail without its triggers, inside one transaction."""
    if link.dialect == "postgresql":
        for table in ("audit", "audit_chain"):
            link.core(text(f"ALTER TABLE {table} DISABLE TRIGGER USER"))
        yield
        for table in ("audit", "audit_chain"):
            link.core(text(f"ALTER TABLE {table} ENABLE TRIGGER USER"))
        return
    triggers = link.core(TRIGGERS)
    for name, _ in triggers:
        link.plain(f"DROP TRIGGER {name}")
    yield
    for _, statement in triggers:
        link.plain(statement)
