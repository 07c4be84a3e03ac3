"""Histories from which past days are answered: of settings, calls, decisions on root causes, and facts."""

from collections.abc import Iterator

from sqlalchemy import bindparam, select

from service.domain.instants import from_text, to_text
from service.domain.record.changes import Change
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.keyed import insert_of
from service.storage.tables import change

ADD = insert_of(change)
COLUMNS = select(
    change.c.id, change.c.at, change.c.made_by, change.c.resource, change.c.key, change.c.before, change.c.after
)
OF_KEY = COLUMNS.where(change.c.resource == bindparam("of_resource"), change.c.key == bindparam("of_key")).limit(1)
LAST_RECORDED = Statement(OF_KEY.order_by(change.c.id.desc()))
LAST_MADE = Statement(OF_KEY.order_by(change.c.at.desc(), change.c.id.desc()))
EQUAL = Statement(
    select(change.c.id)
    .where(
        change.c.resource == bindparam("of_resource"),
        change.c.key == bindparam("of_key"),
        change.c.at == bindparam("made_at"),
        change.c.after == bindparam("known_after"),
    )
    .limit(1)
)
IN_ORDER = Statement(COLUMNS.where(change.c.id > bindparam("behind")).order_by(change.c.id).limit(bindparam("most")))
OF_RESOURCE = Statement(COLUMNS.where(change.c.resource == bindparam("of_resource")).order_by(change.c.at, change.c.id))


class Changes:
    """What was changed, when and by whom.

    `unsettled` are the ids of calls whose last state an import has not added, `own_settings` the keys of the units' own
    settings whose changes it added, `facts` the sites and units whose facts it changed, with those before.
    """

    def __init__(self, link: Link) -> None:
        self.link = link
        self.unsettled: set[str] = set()
        self.own_settings: set[str] = set()
        self.facts: dict[tuple[str, str], str | None] = {}

    def add(self, new: Change) -> None:
        """Append a change."""
        self.link.value(
            ADD,
            at=to_text(new.at),
            made_by=new.by,
            resource=new.resource,
            key=new.key,
            before=new.before,
            after=new.after,
        )

    def last_recorded(self, resource: str, key: str) -> str | None:
        """A record as its change recorded last left it, as JSON text: calls are read in this order."""
        row = self.link.row(LAST_RECORDED, of_resource=resource, of_key=key)
        return None if row is None else str(row[-1])

    def last_made(self, resource: str, *keys: str) -> str | None:
        """A record with one of these keys as its change of the last instant left it: settings are read in this order.

        An import may record a change that is older than those known here.
        """
        rows = [row for key in keys if (row := self.link.row(LAST_MADE, of_resource=resource, of_key=key)) is not None]
        return str(max(rows, key=lambda row: (row[1], row[0]))[-1]) if rows else None

    def is_stored(self, wanted: Change) -> bool:
        """Whether there is the same change of the same instant."""
        about = {"of_resource": wanted.resource, "of_key": wanted.key}
        return self.link.row(EQUAL, made_at=to_text(wanted.at), known_after=wanted.after, **about) is not None

    def of(self, resource: str) -> Iterator[Change]:
        """All changes of a kind of record, the oldest first."""
        return (Change(from_text(at), *others) for _, at, *others in self.link.rows(OF_RESOURCE, of_resource=resource))

    def in_order(self, after: int, most: int) -> tuple[list[Change], int | None]:
        """The next changes as they were recorded, with the position to continue from."""
        rows = list(self.link.rows(IN_ORDER, behind=after, most=most))
        return [Change(from_text(at), *others) for _, at, *others in rows], rows[-1][0] if len(rows) == most else None
