"""Stories through the real interface: records are imported or posted, and root causes are read back over HTTP."""

import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime, time
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from flask import Flask

from service.app import create_app, open_database
from service.domain.audit import Actor
from service.settings import Settings
from service.storage.engine.database import open_engine
from service.storage.store import Store
from service.storage.tables import metadata
from service.storage.unit_log import LogCache
from service.usecases import tokens
from service.usecases.root_causes import root_causes
from service.usecases.system import FleetDatabase
from tests.emptying import empty
from tests.simulation.stories.story import Story
from tests.simulation.truth import Line

EVENING = time(20)
EMPTIED = [table for table in reversed(metadata.sorted_tables) if table.name != "token"]


class Stage:
    """The application over an empty database, with a clock that can be set."""

    def __init__(self, database: FleetDatabase, settings: Settings) -> None:
        self.database, self.now = database, datetime(2026, 6, 9, tzinfo=UTC)
        self.app: Flask = create_app(database, settings, clock=lambda: self.now)
        with database.writing() as store:
            by = Actor("stories", "owner", None, self.now)
            _, self.token = tokens.create(store, name="owner", role="owner", units_shown="si", actor=by)

    def play(self, story: Story) -> list[dict[str, Any]]:
        """The root causes listed at the end of a story, of units and of the fleet."""
        self.database._store_factory = partial(Store, log_cache=LogCache())
        with self.database.writing() as store:
            empty(store.link, EMPTIED)
        if story.posted:
            self._posted(story)
        else:
            self._at(story.today)
            self._import(story.lines)
        self._at(story.today)
        root_causes.search_fleet(self.database, self.now, gap=lambda: None)
        asked = f"&as_of={story.asked}" if story.asked else ""
        answer = self._ask("GET", f"/v1/root-causes?limit=500{asked}", None, 200)
        return [*answer["items"], *(each | {"unit": None} for each in answer["fleet"])]

    def _posted(self, story: Story) -> None:
        self._at(min(_day(line) for line in story.lines if line["record"] == "visit"))
        self._import([line for line in story.lines if line["record"] != "visit"])
        visits = [line for line in story.lines if line["record"] == "visit"]
        recorded = story.recorded or {}
        for line in sorted(visits, key=lambda each: recorded.get(each["id"], _day(each))):
            self._at(recorded.get(line["id"], _day(line)))
            self._ask("POST", "/v1/visits", {key: value for key, value in line.items() if key != "record"}, 201)

    def _at(self, day: date) -> None:
        self.now = datetime.combine(day, EVENING, UTC)

    def _import(self, lines: Sequence[Line]) -> None:
        self._ask("POST", "/v1/imports", "\n".join(map(json.dumps, lines)), 201)

    def _ask(self, method: str, path: str, body: object, status: int) -> Any:
        sent = body if body is None or isinstance(body, str) else json.dumps(body)
        kind = "application/x-ndjson" if isinstance(body, str) else "application/json" if body else None
        headers = {"Authorization": f"Bearer {self.token}"}
        answer = self.app.test_client().open(path, method=method, data=sent, content_type=kind, headers=headers)
        assert answer.status_code == status, answer.text
        return answer.json


def _day(line: Line) -> date:
    return datetime.fromisoformat(line["arrived_at"]).date()


@contextmanager
def stage() -> Iterator[Stage]:
    """An application over a database of its own."""
    with TemporaryDirectory() as folder:
        settings = Settings(database_url=f"sqlite:///{folder}/fleet.db", home=Path(folder))
        engine = open_engine(settings.database_url)
        metadata.create_all(engine)
        engine.dispose()
        database = open_database(settings)
        yield Stage(database, settings)
        database.close()
