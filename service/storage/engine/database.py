"""The database and its two doors: reading() gives a snapshot, writing() a transaction."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from threading import get_ident
from typing import Generic, TypeVar

from sqlalchemy import URL, Engine, make_url
from sqlalchemy.exc import ArgumentError

from service.storage.engine import postgres, sqlite
from service.storage.engine.faults import Refused
from service.storage.engine.link import Link
from service.storage.engine.write_outcome import WriteOutcome

__all__ = ["PATIENCE", "Database", "Link", "Refused", "open_database", "open_engine"]

S = TypeVar("S")
Guard = Callable[[Link], None]
PATIENCE = 1.7  # [s] for a lock or a turn, so that a request is answered within two seconds


def no_guard(_: Link) -> None:
    """Every transaction may write."""


def open_engine(url: str, *, patience: float = PATIENCE, limited: bool = True) -> Engine:
    """An engine for sqlite:///path or postgresql://...; Refused for anything else. Nothing is connected yet.

    With `limited`, PostgreSQL is given up when it is silent within a statement.
    """
    target = _parsed(url)
    if target.get_backend_name() == "postgresql":
        return postgres.open_engine(target, patience=patience, limited=limited)
    if target.drivername != "sqlite" or not target.database or target.query or target.database == ":memory:":
        raise Refused(f"{target.render_as_string()} is not a database address: sqlite:///path or postgresql://... is")
    return sqlite.open_engine(Path(target.database).absolute(), patience=patience)


def open_database(
    url: str,
    store_factory: Callable[[Link], S],
    *,
    patience: float = PATIENCE,
    limited: bool = True,
    guard: Guard = no_guard,
) -> "Database[S]":
    """The database at this address; nothing is connected yet."""
    engine = open_engine(url, patience=patience, limited=limited)
    return Database(engine, store_factory, patience=patience, guard=guard)


class Database(Generic[S]):
    """Gives out stores, each inside one transaction; raises Unavailable when one cannot be had or kept.

    `guard` is called first in each transaction that writes, and refuses it by raising.
    """

    def __init__(
        self,
        engine: Engine,
        store_factory: Callable[[Link], S],
        *,
        patience: float = PATIENCE,
        guard: Guard = no_guard,
    ) -> None:
        self.engine = engine
        self.place: sqlite.SqliteFile | postgres.PostgresServer = (
            sqlite.SqliteFile(engine, patience=patience)
            if engine.dialect.name == "sqlite"
            else postgres.PostgresServer(engine)
        )
        self._store_factory = store_factory
        self._guard = guard
        self._writing: set[int] = set()
        self._outcome = WriteOutcome()

    @contextmanager
    def reading(self) -> Iterator[S]:
        """A snapshot that cannot be written through; it does not hold up writers."""
        with self.place.reading() as link:
            yield self._store_factory(link)
        _done(link)

    @contextmanager
    def lasting(self) -> Iterator[S]:
        """As reading(), for what takes long or whose reader may be slow: an export."""
        with self.place.lasting() as link:
            yield self._store_factory(link)

    @contextmanager
    def writing(self) -> Iterator[S]:
        """Commit on leaving, roll back on any exception; RuntimeError inside another writing() of this thread."""
        thread = get_ident()
        if thread in self._writing:
            raise RuntimeError("writing() inside writing(): one verb is one transaction")
        self._writing.add(thread)
        try:
            with self._outcome.noted(), self.place.writing() as link:
                self._guard(link)
                yield self._store_factory(link)
                for act in link.before_commit:
                    act()
            _done(link)
        finally:
            self._writing.discard(thread)

    @contextmanager
    def holding(self, tables: Sequence[str]) -> Iterator[S]:
        """As writing(), for minutes and without the guard: others read on, and who wants to write is refused at once.

        On PostgreSQL the first of the `tables` must be the one that the guard of every writer locks.
        """
        with self.place.holding(tables) as link:
            yield self._store_factory(link)
        _done(link)

    def check_start(self) -> None:
        """Refuse, with one clear line, a database that must not be served. Call it before anything else."""
        self.place.check_start()

    def identity(self) -> Mapping[Path, tuple[int, int]]:
        """What another process needs besides the address to open this very database."""
        return self.place.same_files.known()

    def join(self, identity: Mapping[Path, tuple[int, int]]) -> None:
        """Open this very database beside the process that checked it, in the place of `check_start`."""
        self.place.same_files.expect(identity)  # others of their names are refused
        self.place.join()

    def described(self) -> str:
        """The engine, its version and how it keeps what is written, in one line for the operator."""
        return self.place.described()

    def claim(self) -> None:
        """Mark a new, empty database as ours; Refused when it is another program's."""
        self.place.claim()

    def copy_to(self, target: Path) -> None:
        """Write a copy that is whole and of one moment; Refused where that is another program's work."""
        self.place.copy_to(target)

    def writable(self) -> None:
        """Write a little, durably; Unavailable when that cannot be done just now."""
        with self._outcome.noted(), self.place.writing() as link:
            self._guard(link)
            self.place.write_a_little(link)

    def check_storable(self) -> None:
        """Unavailable when no visit can be stored; writes only if nothing was written for a minute, or it failed."""
        self.place.check_now()
        self._outcome.check(self.writable)

    def check_content(self, stopped: Callable[[], bool]) -> None:
        """Look through the whole database for damage unless it was done at start; `check_storable` reports it."""
        self.place.check_content(stopped)

    def close(self) -> None:
        """Close all connections; nothing may be under way."""
        self.place.close()


def _done(link: Link) -> None:
    for act in link.when_done:
        act()


def _parsed(url: str) -> URL:
    try:
        return make_url(url)
    except ArgumentError as error:
        raise Refused("the database address cannot be read: sqlite:///path or postgresql://... is expected") from error
