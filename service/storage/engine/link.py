"""One connection inside one transaction, as the collections of storage see it."""

from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from contextlib import contextmanager
from itertools import count
from typing import Any, TypeVar

from sqlalchemy import Connection, Engine, Executable

from service.domain.errors import Unavailable
from service.storage.engine.faults import Translating
from service.storage.engine.statements import Statement

T = TypeVar("T")
CHUNK = 500
BATCH = 2 * 1024 * 1024  # [characters]
SMALLEST, LARGEST = 4, 2000  # [rows]; the smallest is the first, before it is known how long they are
SILENCE_AT_COMMIT = 15.0  # [s] to wait for PostgreSQL, whose disk may take seconds to keep what was written
_numbers = count(1)


class Link:
    """Runs statements on the driver's own cursor, which takes a third less time than passing through SQLAlchemy.

    Valid inside its reading() or writing() block only. A block must not carry on after a failed statement:
    PostgreSQL has given up its transaction by then, and on SQLite it would store half of what was meant.
    """

    __slots__ = ("_connection", "_raw", "_translating", "before_commit", "dialect", "when_done")

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self._raw: Any = connection.connection.dbapi_connection
        self._translating = Translating()
        self.dialect = connection.dialect.name
        self.before_commit: list[Callable[[], None]] = []  # called as the last part of the transaction
        self.when_done: list[Callable[[], None]] = []  # called once the transaction has succeeded

    def rows(self, statement: Statement, /, **params: Any) -> list[tuple[Any, ...]]:
        """All rows, as the driver gives them."""
        return self._take(_all, statement, params)

    def row(self, statement: Statement, /, **params: Any) -> tuple[Any, ...] | None:
        """The first row, or None."""
        return self._take(_first, statement, params)

    def value(self, statement: Statement, /, **params: Any) -> Any:
        """The first column of the first row, or None."""
        row = self._take(_first, statement, params)
        return None if row is None else row[0]

    def run(self, statement: Statement, /, **params: Any) -> int:
        """How many rows the statement changed."""
        return self._take(_row_count, statement, params)

    def run_many(self, statement: Statement, many: Sequence[dict[str, Any]], /) -> int:
        """Run once for each dict; how many rows were changed in all."""
        if not many:
            return 0
        plain = statement.many(self._connection.dialect)
        values = list(map(plain.in_order, many))
        with self._translating:
            cursor = self._raw.cursor()
            cursor.executemany(plain.text, values)
            return int(cursor.rowcount)

    def stream(self, statement: Statement, /, **params: Any) -> Iterator[tuple[Any, ...]]:
        """The rows one by one, fetched in chunks: for results too large to hold."""
        plain = statement.plain(self._connection.dialect)
        values = plain.bound(params)
        with self._translating:
            cursor = self._streaming_cursor()
            cursor.execute(plain.text, values)
        try:
            while chunk := self._chunk(cursor, CHUNK):
                yield from chunk
        finally:
            cursor.close()

    def batches(self, statement: Statement, /) -> Generator[list[tuple[Any, ...]], None, None]:
        """All rows in lists of about `BATCH` characters: few at a time where they hold documents.

        Whoever stops before the end closes it.
        """
        plain = statement.plain(self._connection.dialect)
        size = SMALLEST
        with self._translating:
            cursor = self._streaming_cursor()
            cursor.execute(plain.text, plain.bound({}))
        try:
            while rows := self._chunk(cursor, size):
                yield rows
                characters = sum(len(value) for row in rows for value in row if isinstance(value, str))
                size = max(1, min(LARGEST, BATCH * len(rows) // (characters + 1)))
        finally:
            cursor.close()

    def copy_in(self, sql: str, rows: Iterable[tuple[Any, ...]]) -> None:
        """COPY rows into a table of PostgreSQL."""
        with self._translating, self._raw.cursor() as cursor, cursor.copy(sql) as copy:
            for row in rows:
                copy.write_row(row)

    def core(self, construct: Executable) -> list[tuple[Any, ...]]:
        """Run a construct made on the spot through SQLAlchemy: for queries whose shape depends on the request."""
        with self._translating:
            result = self._connection.execute(construct)
            return [tuple(row) for row in result] if result.returns_rows else []

    def plain(self, sql: str) -> Any:
        """Run SQL that belongs to one engine and has no parameters; the driver's cursor."""
        with self._translating:
            return self._raw.execute(sql)

    def commit_slowly(self) -> None:
        """COMMIT on PostgreSQL, with the time that a slow disk takes."""
        former, self._raw.silence = self._raw.silence, SILENCE_AT_COMMIT
        try:
            self.plain("COMMIT")
        finally:
            self._raw.silence = former

    def must_be_whole(self) -> None:
        """RuntimeError when a statement failed in this block and the block went on as if it had not."""
        if self._translating.spoiled:
            raise RuntimeError("a statement failed in this transaction; let its error leave the block")

    def close(self) -> None:
        """Cut the link when its block ends, so that a forgotten reference fails instead of joining another's work."""
        self._raw = self._connection = None  # type: ignore[assignment]

    def _take(self, take: Callable[[Any], T], statement: Statement, params: dict[str, Any]) -> T:
        plain = statement.plain(self._connection.dialect)
        values = plain.bound(params)
        with self._translating:
            return take(self._raw.execute(plain.text, values))

    def _streaming_cursor(self) -> Any:
        # psycopg's ordinary cursor holds the whole result; a named one lives in the server
        return self._raw.cursor(name=f"stream_{next(_numbers)}") if self.dialect == "postgresql" else self._raw.cursor()

    def _chunk(self, cursor: Any, size: int) -> list[tuple[Any, ...]]:
        with self._translating:
            return list(cursor.fetchmany(size))


def _all(cursor: Any) -> list[tuple[Any, ...]]:
    return cursor.fetchall()  # type: ignore[no-any-return]


def _first(cursor: Any) -> tuple[Any, ...] | None:
    return cursor.fetchone()  # type: ignore[no-any-return]


def _row_count(cursor: Any) -> int:
    return cursor.rowcount  # type: ignore[no-any-return]


@contextmanager
def linked(engine: Engine) -> Iterator[Link]:
    """A link over a pooled connection, rolled back at the end; a connection that has failed is not used again."""
    with Translating():
        connection = engine.connect()
    link = Link(connection)
    try:
        yield link
    except Unavailable:
        connection.invalidate()
        raise
    finally:
        link.close()
        connection.close()
