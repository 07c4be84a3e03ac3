"""One application on each engine for all tests of the resources; each test starts with an empty database."""

import copy
import json
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any
from uuid import uuid4

import psycopg
import pytest
from flask import Flask
from sqlalchemy import text
from werkzeug.test import TestResponse

from service.app import create_app, open_database
from service.domain.audit import Actor
from service.settings import Settings
from service.storage.log_cache import LogCache
from service.storage.migrating import upgrade
from service.storage.tables import metadata
from service.storage.unit_years import YearCache
from service.usecases import tokens
from service.usecases.system import FleetDatabase
from tests.emptying import empty

ROOT = Path(__file__).parents[3]
EXAMPLES = {path.stem: json.loads(path.read_text()) for path in (ROOT / "tests" / "examples").glob("*.json")}
NOW = datetime(2026, 6, 9, 21, 0, tzinfo=UTC)  # 15:00 in Denver, after the example's visit
ROLES = ("technician", "dispatcher", "owner", "reader")
# The unit of the example as the example's visit finds it, with the components that this visit names.
NAMED_IN_THE_VISIT = (
    {"code": "fan-1", "kind": "condenser_fan"},
    {"code": "contactor-1", "kind": "contactor"},
    {"code": "thermostat-1", "kind": "temperature_controller"},
)
EMPTIED = [table for table in reversed(metadata.sorted_tables) if table.name != "token"]


def example(resource: str, **changes: Any) -> dict[str, Any]:
    """The example of a resource as the contract prints it, with some fields changed."""
    return copy.deepcopy(EXAMPLES[resource]) | changes


class Shop:
    """The application with a clock that can be set, and callers of each role who speak JSON."""

    def __init__(self, database: FleetDatabase, settings: Settings) -> None:
        self.database = database
        self.now = NOW
        self.stocked = False
        self.app: Flask = create_app(database, settings, clock=lambda: self.now)
        self.tokens = {role: self._token(role) for role in ROLES} | {"other technician": self._token("technician")}
        self.example = example

    def _token(self, role: str) -> str:
        with self.database.writing() as store:
            by = Actor("setup", "owner", None, NOW)
            return tokens.create(store, name=f"the {role}", role=role, units_shown="si", actor=by)[1]

    def ask(self, method: str, path: str, body: Any = None, *, role: str = "owner", **headers: str) -> TestResponse:
        """One request; keyword headers are written with underscores. `body` may be bytes."""
        sent = {name.replace("_", "-"): value for name, value in headers.items()}
        sent |= {"Authorization": f"Bearer {self.tokens[role]}"}
        data = body if isinstance(body, bytes) else (None if body is None else json.dumps(body))
        kind = None if body is None else "application/json"
        return self.app.test_client().open(path, method=method, data=data, content_type=kind, headers=sent)

    def get(self, path: str, **more: Any) -> Any:
        """The answer to a GET that must succeed."""
        return self._good(self.ask("GET", path, **more), 200)

    def post(self, path: str, body: Any, **more: Any) -> Any:
        """The answer to a POST that must make something."""
        return self._good(self.ask("POST", path, body, **more), 201)

    def patch(self, path: str, body: Any, version: int, **more: Any) -> Any:
        """The answer to a PATCH from a version that must succeed."""
        return self._good(self.ask("PATCH", path, body, If_Match=f'"{version}"', **more), 200)

    @staticmethod
    def _good(answer: TestResponse, status: int) -> Any:
        assert answer.status_code == status, answer.text
        return answer.json

    def walk(self, path: str) -> list[Any]:
        """All items of a list, following `next`."""
        found: list[Any] = []
        while path:
            page = self.get(path)
            found += page["items"]
            path = page["next"]
        return found

    def unit(self, tag: str = "GU-0007", **changes: Any) -> dict[str, Any]:
        """Register the example's unit under a tag, with its customer, technician and site where they are missing."""
        for resource, path in (("customer", "customers"), ("technician", "technicians"), ("site", "sites")):
            assert self.ask("POST", f"/v1/{path}", example(resource)).status_code in (201, 409)
        new = example("unit", tag=tag)
        new["components"] += NAMED_IN_THE_VISIT
        made: dict[str, Any] = self.post("/v1/units", new | changes)
        return made

    def visit(self, day: str, *, unit: str = "GU-0007", **changes: Any) -> dict[str, Any]:
        """Post a plain visit at noon UTC of a day, with an id of its own."""
        plain = {"id": str(uuid4()), "unit": unit, "kind": "maintenance", "arrived_at": f"{day}T18:00:00Z"}
        made: dict[str, Any] = self.post("/v1/visits", plain | changes)
        return made

    def due(self, tag: str = "GU-0007") -> dict[str, dict[str, Any]]:
        """A unit's due items by task."""
        return {item["task"]: item for item in self.get(f"/v1/units/{tag}/due")["items"]}

    def counted(self) -> dict[str, int]:
        """How many rows each table holds."""
        each = (f"SELECT '{table.name}', count(*) FROM {table.name}" for table in metadata.sorted_tables)
        with self.database.reading() as store:
            return dict(store.link.core(text(" UNION ALL ".join(each))))

    def empty(self) -> None:
        """Forget everything but the tokens, and set the clock back."""
        self.now = NOW
        self.stocked = False
        self.database._store_factory = partial(
            self.database._store_factory, log_cache=LogCache(), year_cache=YearCache()
        )  # identities and versions begin anew
        with self.database.writing() as store:
            empty(store.link, EMPTIED)


@contextmanager
def shop_at(url: str, home: Path) -> Iterator[Shop]:
    settings = Settings(database_url=url, home=home, max_body=200_000)
    upgrade(url, ROOT / "migrations")
    database = open_database(settings)
    yield Shop(database, settings)
    database.close()


@pytest.fixture(scope="session", params=["sqlite", "postgresql"])
def open_shop(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """The application on each engine in turn, on a migrated database."""
    home = tmp_path_factory.mktemp("shop")
    if request.param == "sqlite":
        with shop_at(f"sqlite:///{home}/fleet.db", home) as shop:
            yield shop
        return
    server_url: str = request.getfixturevalue("postgres_url")
    with psycopg.connect(server_url, autocommit=True) as server:
        server.execute(f"CREATE DATABASE {home.name}")  # tests/web has one of its own
    with shop_at(server_url.replace("/postgres?", f"/{home.name}?"), home) as shop:
        yield shop


@pytest.fixture
def shop(open_shop: Shop) -> Shop:
    """The application with an empty database; it is 2026-06-09T21:00Z."""
    open_shop.empty()
    return open_shop


@pytest.fixture
def stocked(open_shop: Shop) -> Shop:
    """The application with the example's unit, shared by tests that store nothing more."""
    if not open_shop.stocked:
        open_shop.empty()
        open_shop.unit()
        open_shop.stocked = True
    return open_shop
