"""Pauses of units and closures of sites, each as one document beside its unit or site."""

from collections.abc import Iterator, Sequence

from sqlalchemy import Column, ColumnElement, bindparam, select

from service.domain.errors import NotFound, Stale
from service.domain.record.pauses import Of, Pause
from service.storage.documents import read_many, write
from service.storage.engine.database import Link
from service.storage.engine.statements import Statement
from service.storage.tables import site, unit
from service.storage.tags import present_tag


class _Kept:
    """The statements for one kind: `key` names the owner, `text` holds the document."""

    def __init__(self, key: Column[str], text: Column[str], named: ColumnElement[str]) -> None:
        table = key.table
        self.one = Statement(select(text).where(key == named))
        self.all = Statement(select(key, text).where(text.is_not(None)).order_by(key))
        former = text.is_not_distinct_from(bindparam("former"))
        self.save = Statement(table.update().values({text.name: bindparam("new_text")}).where(key == named, former))


KEY: ColumnElement[str] = bindparam("key")
KEPT: dict[Of, _Kept] = {
    "unit": _Kept(unit.c.tag, unit.c.pauses, present_tag(KEY)),
    "site": _Kept(site.c.code, site.c.closures, KEY),
}


class Pauses:
    """When units are out of service and sites closed."""

    def __init__(self, link: Link) -> None:
        self.link = link

    def of(self, of: Of, key: str) -> tuple[Pause, ...]:
        """The pauses of a unit or the closures of a site, by number; NotFound where there is none."""
        row = self.link.row(KEPT[of].one, key=key)
        if row is None:
            raise NotFound(of, key)
        return read_many(Pause, row[0])

    def put(self, of: Of, key: str, former: Sequence[Pause], new: Sequence[Pause]) -> None:
        """Store all of one owner; Stale when another change came first."""
        texts = {"former": write(tuple(former)) if former else None, "new_text": write(tuple(new))}
        if not self.link.run(KEPT[of].save, key=key, **texts):
            raise Stale(of, key)

    def everyones(self, of: Of) -> Iterator[tuple[str, tuple[Pause, ...]]]:
        """(tag or code, pauses) of all that have any."""
        for key, text in self.link.rows(KEPT[of].all):
            yield key, read_many(Pause, text)
