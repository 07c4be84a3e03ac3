"""An application over a real database, the clock stopped, and a caller of each role."""

import io
import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient

from service.api.telemetry import start_logging
from service.app import create_app, open_database
from service.domain.audit import Actor
from service.domain.physics.libraries import load_all
from service.settings import Settings
from service.storage.engine.database import open_engine
from service.storage.tables import metadata
from service.usecases import tokens
from service.usecases.system import FleetDatabase

MAKER = Actor(name="setup", role="owner", request_id=None, at=datetime(2026, 6, 9, 19, 5, tzinfo=UTC))


@pytest.fixture(scope="session", autouse=True)
def libraries_loaded() -> None:
    """The heavy libraries are there before the first request, as in the server."""
    load_all()


@contextmanager
def database_at(settings: Settings) -> Iterator[FleetDatabase]:
    engine = open_engine(settings.database_url)
    metadata.create_all(engine)
    engine.dispose()
    database = open_database(settings)
    yield database
    database.close()


@pytest.fixture
def settings(database_url: str, tmp_path: Path) -> Settings:
    """Settings for each engine in turn; 100 kB is the largest body."""
    return Settings(database_url=database_url, home=tmp_path, max_body=100_000)


@pytest.fixture
def database(settings: Settings) -> Iterator[FleetDatabase]:
    """An empty database."""
    with database_at(settings) as database:
        yield database


@pytest.fixture
def app(database: FleetDatabase, settings: Settings) -> Flask:
    """The application; it is always 2026-06-09T19:05Z."""
    return create_app(database, settings, clock=lambda: MAKER.at)


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    """Speaks to the application."""
    return app.test_client()


@pytest.fixture
def token_of(database: FleetDatabase) -> Callable[[str], str]:
    """Makes a token of a role and gives its text."""

    def make(role: str) -> str:
        with database.writing() as store:
            return tokens.create(store, name=f"{role} one", role=role, units_shown="us", actor=MAKER)[1]

    return make


@pytest.fixture
def as_role(token_of: Callable[[str], str]) -> Callable[[str], dict[str, str]]:
    """Makes the headers of a caller of a role."""
    return lambda role: {"Authorization": f"Bearer {token_of(role)}"}


@pytest.fixture
def as_owner(as_role: Callable[[str], dict[str, str]]) -> dict[str, str]:
    """The headers of an owner."""
    return as_role("owner")


@pytest.fixture
def file_app(tmp_path: Path) -> Iterator[Flask]:
    """The application over SQLite only, for what no database has a part in."""
    settings = Settings(database_url=f"sqlite:///{tmp_path}/toys.db", home=tmp_path, max_body=100_000)
    with database_at(settings) as database:
        yield create_app(database, settings, clock=lambda: MAKER.at)


@pytest.fixture
def lines() -> Iterator[io.StringIO]:
    """What is logged, as text; the loggers are put back afterwards."""
    root = logging.getLogger()
    kept, level = root.handlers[:], root.level
    stream = io.StringIO()
    start_logging("INFO", stream)
    yield stream
    root.handlers[:] = kept
    root.setLevel(level)
