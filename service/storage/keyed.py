"""Statements for tables of which a row has a natural key and an identity behind it."""

from typing import Any

from sqlalchemy import Select, Table, bindparam, select

from service.storage.engine.statements import Statement


def insert_of(table: Table) -> Statement:
    """An insert of every column but the identity, which it returns where there is one."""
    values: dict[str, Any] = {column.name: bindparam(column.name) for column in table.c if column.name != "id"}
    construct = table.insert().values(values)
    return Statement(construct.returning(table.c.id) if "id" in table.c else construct)


def update_of(table: Table, natural_key: str, *kept: str) -> Statement:
    """An update of every column but those `kept`, by natural key, only from the version before."""
    fixed = ("id", natural_key, *kept)
    values: dict[str, Any] = {c.name: bindparam(c.name) for c in table.c if c.name not in fixed}
    known = table.c[natural_key] == bindparam("key")
    return Statement(table.update().values(values).where(known, table.c.version == bindparam("former_version")))


def by_key(table: Table, natural_key: str) -> Statement:
    """The identity behind a natural key."""
    return Statement(select(table.c.id).where(table.c[natural_key] == bindparam("key")))


def page_of(query: Select[Any], table: Table, natural_key: str, *, after: str | None, limit: int) -> Select[Any]:
    """The query's next rows behind a natural key."""
    key = table.c[natural_key]
    return (query if after is None else query.where(key > after)).order_by(key).limit(limit)
