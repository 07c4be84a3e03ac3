"""A migrated, empty database on each engine, further connections to it, and a maker of what tests need in it."""

from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest

from service.app import open_database
from service.domain.audit import Actor
from service.domain.errors import NotFound
from service.schemas.reading import read
from service.schemas.visits import VisitSchema
from service.settings import Settings
from service.storage.store import Store
from service.usecases.record import fleet, units, visits
from service.usecases.system import FleetDatabase

NOW = datetime(2026, 6, 9, 21, 0, tzinfo=UTC)  # 15:00 in Denver


class Maker:
    """Makes sites, units and visits in a transaction; it is always 2026-06-09T21:00Z."""

    now = NOW
    actor = Actor("tester", "owner", None, NOW)

    def site(self, store: Store, code: str, time_zone: str = "America/Denver", **fields: Any) -> None:
        """A site, with the customer of all sites where it is missing."""
        try:
            store.customers.get("lantern")
        except NotFound:
            fleet.add_customer(store, self.actor, {"code": "lantern", "name": "The Lantern Room"})
        new = {"code": code, "customer": "lantern", "name": code, "time_zone": time_zone}
        fleet.add_site(store, self.actor, new | fields)

    def unit(self, store: Store, tag: str, site: str, **fields: Any) -> None:
        """A unit at a site."""
        units.add_unit(store, self.actor, {"tag": tag, "site": site} | fields)

    def visit(self, store: Store, unit: str, arrived_at: str, **fields: Any) -> str:
        """A visit as JSON has it; its id."""
        plain = {"id": str(uuid4()), "unit": unit, "kind": "maintenance", "arrived_at": arrived_at}
        new = read(VisitSchema(), plain | fields)
        visits.record_visit(store, self.actor, new, fingerprint=new["id"], body="{}")
        return str(new["id"])


@pytest.fixture
def make() -> Maker:
    """Makes what a test needs."""
    return Maker()


@pytest.fixture
def new_database(migrated_url: str, tmp_path: Path) -> Iterator[Callable[..., FleetDatabase]]:
    """Opens the test's database once more, as another process would."""
    with ExitStack() as stack:

        def opened(**more: float) -> FleetDatabase:
            database = open_database(Settings(database_url=migrated_url, home=tmp_path), **more)
            stack.callback(database.close)
            return database

        yield opened


@pytest.fixture
def database(new_database: Callable[[], FleetDatabase]) -> FleetDatabase:
    """An empty database on each engine in turn."""
    return new_database()
