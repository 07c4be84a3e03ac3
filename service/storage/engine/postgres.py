"""PostgreSQL: an ordinary pool, with limits so short that a request is answered whatever the server does."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Engine, create_engine, event

from service.domain.errors import Unavailable
from service.storage.engine.faults import Refused
from service.storage.engine.link import Link, linked
from service.storage.engine.same_file import SameFiles

STATEMENT_LIMIT = 15.0  # [s], by the server: ends what a client that has gone away left behind


def open_engine(url: URL, *, patience: float, limited: bool = True) -> Engine:
    """An engine over psycopg 3 that gives up a lock, a connection or a full pool after `patience` [s].

    With `limited` it also gives up a server that is silent for seconds.
    """
    if find_spec("psycopg") is None:
        raise Refused("PostgreSQL needs psycopg, which is not installed: run pip install '.[postgres]' in the checkout")
    engine = create_engine(
        url.set(drivername="postgresql+psycopg"),
        isolation_level="READ COMMITTED",
        pool_pre_ping=True,
        pool_size=16,
        max_overflow=16,
        pool_timeout=patience,
        connect_args={"connect_timeout": 2, "tcp_user_timeout": 2000},
    )

    @event.listens_for(engine, "do_connect")
    def connect(_dialect: object, _record: object, arguments: Any, named: Any) -> Any:
        from service.storage.engine.postgres_limits import LimitedConnection  # its driver is an optional extra

        connection = LimitedConnection.connect(*arguments, **named)
        if not limited:
            connection.silence = None
        return connection

    @event.listens_for(engine, "connect")
    def limit_waiting(connection: Any, _: object) -> None:
        connection.execute(f"SET lock_timeout = {int(patience * 1000)}")
        if limited:
            connection.execute(f"SET statement_timeout = {int(STATEMENT_LIMIT * 1000)}")
        connection.commit()

    return engine


class PostgresServer:
    """Transactions on PostgreSQL."""

    def __init__(self, engine: Engine) -> None:
        self.engine = engine
        self.same_files = SameFiles()  # none
        # a snapshot for each block, as SQLite gives: a list and its count agree
        self._reader = engine.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)

    @contextmanager
    def reading(self) -> Iterator[Link]:
        """A snapshot, read only."""
        with linked(self._reader) as link:
            yield link

    lasting = reading

    @contextmanager
    def writing(self) -> Iterator[Link]:
        """A transaction at READ COMMITTED, committed on leaving."""
        with linked(self.engine) as link:
            yield link
            link.must_be_whole()
            link.commit_slowly()

    @contextmanager
    def holding(self, tables: Sequence[str]) -> Iterator[Link]:
        """A transaction beside which nobody writes; writers ask for the first table first, and without waiting."""
        with self.writing() as link:
            link.plain(f'LOCK TABLE "{tables[0]}" IN EXCLUSIVE MODE')
            link.plain("LOCK TABLE " + ", ".join(f'"{name}"' for name in tables[1:]) + " IN SHARE MODE")
            yield link

    def described(self) -> str:
        """Server and driver, in one line for the operator."""
        with self.reading() as link:
            (server,) = link.plain("SHOW server_version").fetchone()
        return f"PostgreSQL {server} (driver psycopg {version('psycopg')})"

    def check_start(self) -> None:
        """Refuse a server that does not answer."""
        try:
            with self.reading() as link:
                link.plain("SELECT 1")
        except Unavailable as error:
            reason = str(error.__cause__ or error).strip().partition("\n")[0]
            raise Refused(f"PostgreSQL at {self.engine.url.render_as_string()} cannot be used: {reason}") from error

    def join(self) -> None:
        """Nothing to do before it is used beside another process."""

    def check_now(self) -> None:
        """Unavailable when the server does not answer."""
        with self.reading() as link:
            link.plain("SELECT 1")

    def check_content(self, stopped: Callable[[], bool]) -> None:
        """PostgreSQL watches its own files (pg_amcheck, data checksums)."""

    def claim(self) -> None:
        """Nothing to mark: a PostgreSQL database is given to the product by name."""

    def copy_to(self, target: Path) -> None:
        """PostgreSQL copies itself better than we could."""
        raise Refused(f"{target} is not written: copy a PostgreSQL database with pg_dump")

    @staticmethod
    def write_a_little(link: Link) -> None:
        """A small real write that leaves nothing behind."""
        link.plain("CREATE TEMPORARY TABLE write_probe (n integer) ON COMMIT DROP")

    def close(self) -> None:
        """Give back every connection."""
        self.engine.dispose()
