"""The last number that each table has given out: a deleted row's number is not given out again.

SQLite keeps it for the tables declared with AUTOINCREMENT, PostgreSQL for every identity. Where nothing is kept, the
number follows from the rows.
"""

from collections.abc import Mapping

from service.storage.engine.link import Link
from service.storage.tables import metadata

NUMBERED = tuple(table for table in metadata.sorted_tables if table.autoincrement_column is not None)
TABLES = tuple(table.name for table in NUMBERED)
KEPT = tuple(table.name for table in NUMBERED if table.dialect_options["sqlite"]["autoincrement"])


def last_ids(link: Link) -> dict[str, int]:
    """The last number of each table that SQLite keeps one for, 0 before the first."""
    return {name: max(_kept(link, name), _highest(link, name)) for name in KEPT}


def _kept(link: Link, name: str) -> int:
    if link.dialect == "sqlite":
        row = link.plain(f"SELECT seq FROM sqlite_sequence WHERE name = '{name}'").fetchone()
        return 0 if row is None else int(row[0])
    sequence = link.plain(f"SELECT {_sequence(name)}").fetchone()[0]
    last, is_called = link.plain(f"SELECT last_value, is_called FROM {sequence}").fetchone()
    return int(last) if is_called else int(last) - 1


def _highest(link: Link, name: str) -> int:
    return int(link.plain(f'SELECT coalesce(max(id), 0) FROM "{name}"').fetchone()[0])


def _sequence(name: str) -> str:
    return f"pg_get_serial_sequence('\"{name}\"', 'id')"


def count_on(link: Link, last: Mapping[str, int]) -> None:
    """Let new numbers follow these, and those of the rows that there are."""
    sqlite = link.dialect == "sqlite"
    for name in KEPT if sqlite else TABLES:
        number = max(last.get(name, 0), _highest(link, name))
        if sqlite:
            link.plain(f"DELETE FROM sqlite_sequence WHERE name = '{name}'")
            link.plain(f"INSERT INTO sqlite_sequence (name, seq) VALUES ('{name}', {number:d})")
        else:
            link.plain(f"SELECT setval({_sequence(name)}, {max(number, 1)}, {number > 0})")
