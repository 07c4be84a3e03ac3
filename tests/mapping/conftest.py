"""An empty database on SQLite, and a way to import tables into it."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import orjson
import pytest

from service.app import open_database
from service.domain.audit import Actor
from service.mapping import file
from service.mapping.guess import Guess, guess
from service.mapping.guess_names import with_aliases
from service.mapping.run import Done, Wanted, carry_out
from service.settings import Settings
from service.storage.engine.database import open_engine
from service.storage.tables import metadata
from service.usecases.system import FleetDatabase
from service.usecases.transfer import exporting, known_names
from service.workbooks.opening import read_book

NOW = datetime(2026, 6, 9, 21, 0, tzinfo=UTC)


class Office:
    """Whoever moves a company's tables in."""

    def __init__(self, database: FleetDatabase) -> None:
        self.database = database

    def guess(self, raw: bytes, **answers: str) -> Guess:
        """The guess for a file, with answers by the path of their question, a dot written __."""
        book = read_book(raw)
        with self.database.reading() as store:
            fleet, zones = known_names.fleet(store), list(store.sites.zones())
        made = guess(book, fleet, zones)
        for path, answer in answers.items():
            made.answered(path.replace("__", "."), answer)
        return with_aliases(made, book, fleet, NOW.date())

    def bring_in(self, raw: bytes, mapping: str, **how: Any) -> Done:
        """Import a file by the text of a mapping."""
        return carry_out(
            self.database, Actor("tester", "owner", None, NOW), read_book(raw), file.load(mapping), Wanted(**how)
        )

    def records(self) -> list[dict[str, Any]]:
        """Everything that is stored."""
        with self.database.reading() as store:
            return [orjson.loads(orjson.dumps(record)) for record in exporting.records(store, trail=False)]

    def visits(self) -> list[dict[str, Any]]:
        """The visits that are stored."""
        return [record for record in self.records() if record["record"] == "visit"]


@pytest.fixture
def office(tmp_path: Path) -> Iterator[Office]:
    """An office with an empty database."""
    settings = Settings(database_url=f"sqlite:///{tmp_path}/fleet.db", home=tmp_path)
    engine = open_engine(settings.database_url)
    metadata.create_all(engine)
    engine.dispose()
    database = open_database(settings)
    yield Office(database)
    database.close()
