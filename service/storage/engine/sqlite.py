"""SQLite: which library may be used, how a connection is set up, and the two doors to the file."""

import os
import shutil
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from functools import cache
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event

from service.domain.errors import Unavailable
from service.storage.engine import private, sqlite_copy, sqlite_log, sqlite_restore, sqlite_start
from service.storage.engine.faults import DAMAGED, FULL, READ_ONLY, Refused, Translating
from service.storage.engine.group_writer import GroupWriter
from service.storage.engine.link import Link, linked
from service.storage.engine.same_file import SameFiles
from service.storage.engine.sqlite_hold import Hold
from service.storage.engine.sqlite_use import Use
from service.storage.engine.turnstile import Turnstile

DRIVERS = ("sqlite3", "pysqlite3.dbapi2")
OLDEST = (3, 40, 1)  # the oldest that the tests have passed with
PATIENCE_TO_COPY = 5.0  # [s]
LEAST_FREE = 1024 * 1024  # [B]: the log alone takes half of it
PATIENCE_TO_OPEN = 3.0  # [s], while another process checks the file
SLOWER = 10.0  # under a rollback journal readers and the writer wait for each other: how many times as long they may
WAL, ROLLBACK = "wal", "delete"  # as SQLite names them
COMMON = (
    "PRAGMA foreign_keys=ON",
    "PRAGMA wal_autocheckpoint=100",  # small and often: the default of 1000 pages is felt as a pause
)
SYNCHRONOUS = {WAL: 2, ROLLBACK: 3}  # FULL and EXTRA: with these a commit outlives a power cut


def is_sound(version: tuple[int, ...]) -> bool:
    """Free of the WAL-reset fault, which can corrupt a file that two connections write and checkpoint at once.

    In 3.7.0 to 3.51.2; mended in 3.51.3 and in the branches 3.50.7 and 3.44.6 (https://www.sqlite.org/changes.html).
    """
    return version >= (3, 51, 3) or (3, 50, 7) <= version < (3, 51) or (3, 44, 6) <= version < (3, 45)


@cache
def driver(names: tuple[str, ...] = DRIVERS) -> Any:
    """The first driver with a sound SQLite, or else the first that is new enough; Refused when there is none."""
    found = []
    for name in names:
        with suppress(ImportError):
            found.append(import_module(name))
    usable = [each for each in found if each.sqlite_version_info >= OLDEST]
    if not usable:
        seen = ", ".join(f"{each.__name__} {each.sqlite_version}" for each in found) or "none"
        raise Refused(f"every SQLite here ({seen}) is older than {'.'.join(map(str, OLDEST))}: install pysqlite3")
    return next((each for each in usable if is_sound(each.sqlite_version_info)), usable[0])


def journal() -> str:
    """How the file is protected: by a write-ahead log, or with a SQLite that has its fault by a rollback journal."""
    return WAL if is_sound(driver().sqlite_version_info) else ROLLBACK


def patience_with(journal_mode: str, patience: float) -> float:
    """How long to wait for a lock [s]."""
    return patience if journal_mode == WAL else SLOWER * patience


def connect(path: Path, *, patience: float) -> Any:
    """A driver's connection with our settings, which waits for a lock up to `patience` [s].

    The first one turns a file that was kept in the other way to ours, for which nobody else may have it open.
    """
    mode = journal()
    private.create(path)
    connection = driver().connect(str(path), timeout=patience, isolation_level=None, check_same_thread=False)
    try:
        kept = sqlite_log.keep(connection, mode, patience)
        if kept != mode:
            raise Refused(f"SQLite keeps journal_mode={kept} on {path}, not {mode}: it is on a disk that cannot do it")
        for pragma in (f"PRAGMA synchronous={SYNCHRONOUS[mode]}", *COMMON):
            connection.execute(pragma)
        (synchronous,) = connection.execute("PRAGMA synchronous").fetchone()
        if synchronous != SYNCHRONOUS[mode]:
            raise Refused(
                f"SQLite does not keep synchronous={SYNCHRONOUS[mode]} on {path}: a power cut could lose visits"
            )
    except BaseException:
        connection.close()
        raise
    return connection


def open_engine(path: Path, *, patience: float) -> Engine:
    """An engine whose connections are set up by connect(); none is opened yet.

    Its option `same_files` holds the file of the first connection: another that has its name meanwhile is not opened,
    because SQLite would apply the log of the first to it.
    """
    patience = patience_with(journal(), patience)
    same_files = SameFiles()

    def connect_again() -> Any:
        same_files.check()
        connection = connect(path, patience=patience)
        same_files.remember(path)
        return connection

    return create_engine(
        URL.create("sqlite", database=str(path)),
        creator=connect_again,
        execution_options={"same_files": same_files},
        module=driver(),
        paramstyle="named",
        pool_size=16,
        max_overflow=16,
        pool_timeout=patience,
    )


class SqliteFile:
    """Transactions on one file: snapshots from a pool for reading, one connection in turns for writing."""

    def __init__(self, engine: Engine, *, patience: float) -> None:
        self.engine = engine
        self.path = Path(engine.url.database or "")
        self.turnstile = Turnstile(self.path)
        self.use = Use(self.path)
        self.hold = Hold(self.path)
        self.same_files: SameFiles = engine.get_execution_options()["same_files"]
        self.writer = GroupWriter(
            self._connect_writer,
            self.turnstile,
            patience=patience_with(journal(), patience),
            before_commit=self.same_files.check,
        )
        self._keeper: Any = None
        self._damage: str | None = None
        self._looked_through = False
        event.listen(engine, "connect", _protect)

    @contextmanager
    def reading(self) -> Iterator[Link]:
        """A snapshot on a connection that refuses to write."""
        with linked(self.engine) as link:
            link.plain("BEGIN")
            yield link

    @contextmanager
    def lasting(self) -> Iterator[Link]:
        """A snapshot for long or slow reading; under a rollback journal, of a copy: a reader there holds up writers."""
        if journal() == WAL:
            with self.reading() as link:
                yield link
            return
        with TemporaryDirectory(prefix=".reading-", dir=self.path.parent) as folder:
            copy = Path(folder, self.path.name)
            self.copy_to(copy)
            engine = open_engine(copy, patience=PATIENCE_TO_COPY)
            event.listen(engine, "connect", _protect)
            try:
                with linked(engine) as link:
                    yield link
            finally:
                engine.dispose()

    @contextmanager
    def writing(self) -> Iterator[Link]:
        """A turn of the one writer; while another process holds all others up it is refused at once."""
        self.hold.check()
        with self.writer.writing() as link:
            yield link

    @contextmanager
    def holding(self, _: Sequence[str]) -> Iterator[Link]:
        """A turn of the one writer for minutes."""
        with self.hold.taken(), self.writer.writing() as link:
            yield link

    def described(self) -> str:
        """Driver, version and journal, in one line for the operator."""
        with self.reading() as link:
            (version,) = link.plain("SELECT sqlite_version()").fetchone()
            (mode,) = link.plain("PRAGMA journal_mode").fetchone()
        name = driver().__name__.partition(".")[0]
        if mode == WAL:
            return f"SQLite {version} (driver {name}), write-ahead log"
        return f"SQLite {version} (driver {name}), rollback journal: slower, as its write-ahead log has a fault"

    def check_start(self) -> None:
        """Refuse a file that is not ours, or not whole, or has another's log, or is where it cannot be kept."""
        sqlite_start.check_place(self.path)
        self.use.enter(self._check_alone, patience=PATIENCE_TO_OPEN)
        self._looked_through = sqlite_start.check(self.path, driver())
        private.protect(self.path)

    def join(self) -> None:
        """Use the file beside the process that has checked it."""
        self.use.enter(self._check_alone, patience=PATIENCE_TO_OPEN)

    def check_now(self) -> None:
        """Unavailable when it is known, without a write, that nothing can be stored."""
        self.same_files.check()
        if self._damage is not None:
            raise Unavailable(self._damage)
        if not os.access(self.path, os.W_OK):
            raise Unavailable(READ_ONLY)
        if shutil.disk_usage(self.path.parent).free < LEAST_FREE:
            raise Unavailable(FULL)
        with self.reading() as link:
            link.plain("SELECT 1 FROM sqlite_master LIMIT 1").fetchone()

    def check_content(self, stopped: Callable[[], bool]) -> None:
        """Look for damage unless that was done at start, a table a transaction: the log can be emptied between them."""
        if self._looked_through:
            return
        with self.reading() as link:
            tables = [name for (name,) in link.plain("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()]
        for table in tables:
            if stopped():
                return
            complaint = self._complaint(table)
            if complaint != "ok":
                self._damage = DAMAGED
                raise Unavailable(f"{DAMAGED} ({complaint})")
        self._looked_through = True

    def _complaint(self, table: str) -> str:
        with self.reading() as link:
            (complaint,) = link.plain(f"PRAGMA quick_check('{table}')").fetchone()
        return " ".join(str(complaint).split())

    def claim(self) -> None:
        """Mark a file without tables as ours; Refused when it is another program's."""
        private.create(self.path)
        with Translating():
            sqlite_start.claim(self.path, driver())
        with self.writing():
            pass  # turned to our journal, and one commit counted

    def copy_to(self, target: Path) -> None:
        """Write a whole, checked copy of one moment to a new file, while others read and write."""
        if not target.parent.is_dir():
            raise Refused(f"there is no folder {target.parent} for the copy")
        if target.exists():
            raise Refused(f"{target} is there already; a copy is not written over it")
        with Translating(), closing(self._connect_to_copy()) as original:
            sqlite_copy.write_copy(original, target, driver())

    @staticmethod
    def write_a_little(link: Link) -> None:
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
        self.same_files.forget()
        self.use.leave()

    def _check_alone(self) -> None:
        sqlite_restore.check_ended(self.path)
        sqlite_log.check(self.path)
        self.hold.clear()

    def _connect_to_copy(self) -> Any:
        return connect(self.path, patience=patience_with(journal(), PATIENCE_TO_COPY))

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
            self.same_files.check()
            self._keeper = connect(self.path, patience=self.writer.patience)
        self._keeper.execute("SELECT count(*) FROM sqlite_master").fetchone()
        self.same_files.remember(self.path)
        if journal() == WAL:
            self.same_files.remember(self.path.with_name(f"{self.path.name}-wal"))


def _protect(connection: Any, _: object) -> None:
    connection.execute("PRAGMA query_only=ON")
