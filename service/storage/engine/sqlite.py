"""SQLite: which library may be used, how a connection is set up, and the two doors to the file."""

from collections.abc import Iterator
from contextlib import closing, contextmanager
from functools import cache
from importlib import import_module
from pathlib import Path
from time import monotonic
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event

from service.storage.engine import sqlite_start
from service.storage.engine.faults import Refused, Translating
from service.storage.engine.group_writer import GroupWriter
from service.storage.engine.link import Link, linked
from service.storage.engine.turnstile import Turnstile

DRIVERS = ("sqlite3", "pysqlite3.dbapi2")
SYNCHRONOUS_FULL = 2
PATIENCE_TO_COPY = 5.0  # [s]
SET_UP = (
    "PRAGMA journal_mode=WAL",
    "PRAGMA synchronous=FULL",  # a commit outlives a power cut
    "PRAGMA foreign_keys=ON",
    "PRAGMA wal_autocheckpoint=100",  # small and often: the default of 1000 pages is felt as a pause
)


def is_sound(version: tuple[int, ...]) -> bool:
    """Free of the WAL-reset fault, which can corrupt a file that two connections write and checkpoint at once.

    In 3.7.0 to 3.51.2; mended in 3.51.3 and in the branches 3.50.7 and 3.44.6 (https://www.sqlite.org/changes.html).
    """
    return version >= (3, 51, 3) or (3, 50, 7) <= version < (3, 51) or (3, 44, 6) <= version < (3, 45)


@cache
def driver(candidates: tuple[str, ...] = DRIVERS) -> Any:
    """The first driver with a sound SQLite; Refused when none has one."""
    found = []
    for name in candidates:
        try:
            module = import_module(name)
        except ImportError:
            continue
        if is_sound(module.sqlite_version_info):
            return module
        found.append(f"{name} {module.sqlite_version}")
    raise Refused(
        f"every SQLite here ({', '.join(found) or 'none'}) has the WAL-reset fault; 3.51.3 or newer is needed: "
        "install pysqlite3, or a Python with a newer SQLite"
    )


def connect(path: Path, *, patience: float) -> Any:
    """A driver's connection with our settings, which waits for a lock up to `patience` [s]."""
    connection = driver().connect(str(path), timeout=patience, isolation_level=None, check_same_thread=False)
    try:
        for pragma in SET_UP:
            connection.execute(pragma)
        (synchronous,) = connection.execute("PRAGMA synchronous").fetchone()
        if synchronous != SYNCHRONOUS_FULL:
            raise Refused(f"SQLite does not keep synchronous=FULL on {path}: a power cut could lose stored visits")
    except BaseException:
        connection.close()
        raise
    return connection


def open_engine(path: Path, *, patience: float) -> Engine:
    """An engine whose connections are set up by connect(); none is opened yet."""
    return create_engine(
        URL.create("sqlite", database=str(path)),
        creator=lambda: connect(path, patience=patience),
        module=driver(),
        paramstyle="named",
        pool_size=16,
        max_overflow=16,
        pool_timeout=patience,
    )


@contextmanager
def turn_to_write(engine: Engine, *, patience: float) -> Iterator[None]:
    """The right to write before other processes, for a transaction on a connection of one's own."""
    turnstile = Turnstile(Path(engine.url.database or ""))
    try:
        turnstile.take(monotonic() + patience)
        yield
    finally:
        turnstile.close()


class SqliteFile:
    """Transactions on one file: snapshots from a pool for reading, one connection in turns for writing."""

    def __init__(self, engine: Engine, *, patience: float) -> None:
        self.engine = engine
        self.path = Path(engine.url.database or "")
        self.turnstile = Turnstile(self.path)
        self.writer = GroupWriter(self._connect_writer, self.turnstile, patience=patience)
        self._keeper: Any = None
        event.listen(engine, "connect", _protect)

    @contextmanager
    def reading(self) -> Iterator[Link]:
        """A snapshot on a connection that refuses to write."""
        with linked(self.engine) as link:
            link.plain("BEGIN")
            yield link

    @contextmanager
    def writing(self) -> Iterator[Link]:
        """A turn of the one writer."""
        with self.writer.writing() as link:
            yield link

    def check_start(self) -> None:
        """Refuse a file that is not ours, or not whole, or not in a place where it can be kept."""
        sqlite_start.check(self.path, driver())

    def claim(self) -> None:
        """Mark a file without tables as ours; Refused when it is another program's."""
        with self.writing() as link:
            sqlite_start.claim(self.path, link)

    def copy_to(self, target: Path) -> None:
        """Write a whole copy of the file as it is at one moment, while others read and write; never over a file.

        SQLite's own backup: a copy of the file by other means can miss what is still in the log.
        """
        if target.exists():
            raise Refused(f"{target} is there already; a copy is not written over it")
        part = target.with_name(f".{target.name}.part")
        part.unlink(missing_ok=True)
        try:
            with Translating(), closing(driver().connect(str(part))) as copy:
                with closing(connect(self.path, patience=PATIENCE_TO_COPY)) as original:
                    original.backup(copy)  # in one step: in parts it would begin anew with every write
                copy.execute("PRAGMA journal_mode=DELETE")
            part.replace(target)
        finally:
            part.unlink(missing_ok=True)

    @staticmethod
    def touch(link: Link) -> None:
        """A small real write that changes nothing: one page through the log to the disk."""
        (version,) = link.plain("PRAGMA user_version").fetchone()
        link.plain(f"PRAGMA user_version={version}")

    def close(self) -> None:
        """Close every connection, those that may write last: they leave the file without a log beside it."""
        self.engine.dispose()
        self.writer.close()
        self.turnstile.close()
        if self._keeper is not None:
            self._keeper.close()
            self._keeper = None

    def _connect_writer(self) -> Connection:
        self._keep_index()
        connection = self.engine.connect()
        connection.detach()
        dbapi: Any = connection.connection.dbapi_connection
        dbapi.execute("PRAGMA query_only=OFF")
        return connection

    def _keep_index(self) -> None:
        """Hold a connection that does nothing.

        Closing the last one ends the log's index; on a full disk nobody could begin it again, not even to read.
        """
        if self._keeper is None:
            self._keeper = connect(self.path, patience=self.writer.patience)
        self._keeper.execute("SELECT count(*) FROM sqlite_master").fetchone()


def _protect(connection: Any, _: object) -> None:
    connection.execute("PRAGMA query_only=ON")
