"""Copy every row to a database on either engine, and compare both row by row.

Both engines give a text, a whole number, a double or nothing for a column (see `tables`): rows pass as they are.
"""

import hashlib
from collections.abc import Callable, Generator
from contextlib import closing
from dataclasses import dataclass
from itertools import zip_longest
from pathlib import Path
from typing import Any
from urllib.parse import quote

import orjson
from sqlalchemy import Table, bindparam, inspect, make_url, select

from service.storage.engine.database import Database, Link
from service.storage.engine.faults import Refused, Translating
from service.storage.engine.link import linked
from service.storage.engine.sqlite_log import count_commit
from service.storage.engine.statements import Statement
from service.storage.last_ids import count_on, last_ids
from service.storage.store import Store
from service.storage.tables import metadata, move

# What is referred to comes first, whatever order the tables were declared in.
TABLES = tuple(table for table in metadata.sorted_tables if table is not move)
REVISION = "alembic_version"  # the table of the schema's revision
LOCKED = (move.name, *(table.name for table in TABLES))
Progress = Callable[[int], None]
Row = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Digest:
    """How many rows a table holds, and the SHA-256 of them in the order of its key."""

    rows: int
    sha256: str


def address_of(url: str) -> str:
    """The address of a database without user, password and options: by it a move is known again."""
    parsed = make_url(url)
    if parsed.get_backend_name() == "sqlite":
        return f"sqlite:///{Path(parsed.database or '').absolute()}"
    host = parsed.host or parsed.query.get("host") or "localhost"
    return f"postgresql://{host}:{parsed.port or 5432}/{quote(parsed.database or '')}"


def counted(link: Link) -> int:
    """The rows of all tables."""
    return sum(int(link.plain(f'SELECT count(*) FROM "{table.name}"').fetchone()[0]) for table in TABLES)


def foreign_tables(database: Database[Store]) -> list[str]:
    """The tables of another program."""
    there = _tables_of(database)
    ours = {REVISION, *metadata.tables} if REVISION in there else set()
    return sorted(there - ours)


def _tables_of(database: Database[Store]) -> set[str]:
    with Translating(), database.engine.connect() as connection:
        return set(inspect(connection).get_table_names())


def first_rows(database: Database[Store]) -> list[str]:
    """The tables that hold something; none of a database in which there are no tables yet."""
    there = _tables_of(database)
    with database.reading() as store:
        tables = [table.name for table in metadata.sorted_tables if table.name in there]
        return [name for name in tables if store.link.plain(f'SELECT 1 FROM "{name}" LIMIT 1').fetchone()]


def drop_all(database: Database[Store]) -> None:
    """Take all tables out of the database of an unfinished move: all, or none when it is stopped."""
    names = [*(table.name for table in reversed(metadata.sorted_tables)), REVISION]
    with linked(database.engine) as link:
        _begin(link)
        for name in names:
            link.plain(f'DROP TABLE IF EXISTS "{name}"')
        if link.dialect == "postgresql":
            link.plain("DROP FUNCTION IF EXISTS refuse_change()")
        link.plain("COMMIT")


def copy(source: Link, target: Database[Store], progress: Progress) -> None:
    """Copy all rows into the empty tables of the target, each table in transactions of its own."""
    with linked(target.engine) as link:
        for table in TABLES:
            _copy_table(source, link, table, progress)
        _finish(link, last_ids(source))


def _copy_table(source: Link, link: Link, table: Table, progress: Progress) -> None:
    names = [column.name for column in table.c]
    with closing(_counted(source, table, progress)) as batches:
        if link.dialect == "postgresql":  # one statement, so that rows may refer to later ones of the same table
            columns = ", ".join(f'"{name}"' for name in names)
            link.copy_in(f'COPY "{table.name}" ({columns}) FROM STDIN', (row for batch in batches for row in batch))
            link.commit_slowly()
            return
        insert = Statement(table.insert().values({name: bindparam(name) for name in names}))
        for batch in batches:
            _begin(link)
            link.run_many(insert, [dict(zip(names, row, strict=True)) for row in batch])
            link.plain("COMMIT")


def _counted(link: Link, table: Table, progress: Progress) -> Generator[list[Row], None, None]:
    """The rows of a table; each list is reported once it has been dealt with."""
    with closing(link.batches(all_rows(table))) as batches:
        for batch in batches:
            yield batch
            progress(len(batch))


def _begin(link: Link) -> None:
    """Begin a transaction; on SQLite keys are checked at the end, for a row may refer to a later one of its table."""
    if link.dialect == "sqlite":
        link.plain("PRAGMA query_only=OFF")
        link.plain("PRAGMA foreign_keys=OFF")
        link.plain("BEGIN IMMEDIATE")
        count_commit(link.plain)


def _finish(link: Link, last: dict[str, int]) -> None:
    """Check the keys, and let new numbers follow those that were given out."""
    if link.dialect == "sqlite":
        _begin(link)
        count_on(link, last)
        link.plain("COMMIT")
        if orphans := link.plain("PRAGMA foreign_key_check").fetchall():
            raise Refused(f"the copy has rows without what they point to: {orphans[:3]}")
        link.plain("PRAGMA foreign_keys=ON")
        link.plain("PRAGMA query_only=ON")
        return
    count_on(link, last)
    link.plain("ANALYZE " + ", ".join(f'"{table.name}"' for table in TABLES))
    link.commit_slowly()


def all_rows(table: Table) -> Statement:
    """All rows of a table in the order of its key, which is the same on both engines."""
    return Statement(select(*table.c).order_by(*table.primary_key.columns))


def compare(source: Link, target: Link, progress: Progress) -> dict[str, Digest]:
    """Count and digest of each table, calculated on both sides; Refused with the first row that differs."""
    if last_ids(source) != last_ids(target):
        raise Refused(f"the copy counts on from other numbers: {last_ids(source)} and {last_ids(target)}")
    found = {}
    for table in TABLES:
        one, other = _Reader(source, table, progress), _Reader(target, table, lambda _: None)
        with closing(one.rows()) as ours, closing(other.rows()) as copied:
            for mine, theirs in zip_longest(ours, copied):
                if mine != theirs:
                    raise Refused(_difference(table, mine, theirs))
        if one.digest() != other.digest():
            raise Refused(f"the copy differs in the table {table.name}: {one.digest()} and {other.digest()}")
        found[table.name] = one.digest()
    return found


class _Reader:
    """The rows of a table on one side, counted and digested as they go by."""

    def __init__(self, link: Link, table: Table, progress: Progress) -> None:
        self._of = link, table, progress
        self._hash, self._count = hashlib.sha256(), 0

    def rows(self) -> Generator[Row, None, None]:
        with closing(_counted(*self._of)) as batches:
            for batch in batches:
                self._count += len(batch)
                for row in batch:
                    self._hash.update(orjson.dumps(row))
                    yield row

    def digest(self) -> Digest:
        return Digest(self._count, self._hash.hexdigest())


def _difference(table: Table, mine: Row | None, theirs: Row | None) -> str:
    names = [column.name for column in table.c]
    keys = [names.index(column.name) for column in table.primary_key.columns]
    row = mine or theirs or ()
    key = ", ".join(f"{names[at]} {row[at]}" for at in keys)
    if mine is None or theirs is None or any(mine[at] != theirs[at] for at in keys):
        return f"the copy differs in the table {table.name}: a row is missing or too many at {key}"
    differ = [name for name, one, other in zip(names, mine, theirs, strict=True) if one != other]
    return f"the copy differs in the table {table.name}: {', '.join(differ)} of the row {key}"
