"""The application under test: an example fleet in a database of its own, and a caller of each role."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from flask import Flask

from service.app import create_app, open_database
from service.domain.audit import Actor
from service.domain.tokens import ROLES
from service.settings import Settings
from service.storage.engine.database import open_engine
from service.storage.tables import metadata
from service.usecases import tokens

EXAMPLES = Path(__file__).parents[1] / "examples"
NOW = datetime(2026, 6, 10, 19, 5, tzinfo=UTC)
SETUP = Actor(name="setup", role="owner", request_id=None, at=NOW)
KINDS = {"fan-1": "condenser_fan", "contactor-1": "contactor", "thermostat-1": "temperature_controller"}
FIRST_UNIT = "GU-0007"
FIRST = "0199d1f0-6c1e-7a51-9f0a-2f5d3c9e1b"


@dataclass
class Target:
    """The application, the headers of each role, and what is recorded, by the name of the path parameter or field."""

    app: Flask
    headers: dict[str, dict[str, str]]
    known: dict[str, list[Any]] = field(default_factory=dict)
    components: dict[str, list[str]] = field(default_factory=dict)

    def learn(self, name: str, value: Any) -> None:
        """Keep a code or id that the record has; of many the last hundred."""
        values = self.known.setdefault(name, [])
        if value not in values:
            values.append(value)
            del values[:-100]


@contextmanager
def opened(folder: Path) -> Iterator[Target]:
    """A target with the example fleet, in a database in the folder."""
    settings = Settings(database_url=f"sqlite:///{folder}/fleet.db", home=folder, max_body=200_000)
    engine = open_engine(settings.database_url)
    metadata.create_all(engine)
    engine.dispose()
    database = open_database(settings)
    try:
        headers = {}
        for role in ROLES:
            with database.writing() as store:
                token = tokens.create(store, name=role, role=role, units_shown="us", actor=SETUP)[1]
            headers[role] = {"Authorization": f"Bearer {token}"}
        target = Target(create_app(database, settings, clock=lambda: NOW), headers)
        _fill(target)
        yield target
    finally:
        database.close()


def _fill(target: Target) -> None:
    client, owner = target.app.test_client(), target.headers["owner"]
    for resource in ("customer", "technician", "site", "unit", "visit"):
        body = json.loads((EXAMPLES / f"{resource}.json").read_text(encoding="utf-8"))
        body["replacements"] = [part | {"kind": KINDS[part["component"]]} for part in body.get("replacements", ())]
        body = {name: value for name, value in body.items() if value != []}
        body |= {"id": f"{FIRST}00"} if "id" in body else {}  # the document's example is a visit yet to be posted
        answer = client.post(f"/v1/{resource}s", json=body, headers=owner)
        assert answer.status_code == 201, answer.text
        learn_from(target, resource, body)
    burnt = {"component": "switch-1", "reason": "failed", "condition": "burnt", "evidence": "seen"}
    for month in range(1, 6):
        visit = {"id": f"{FIRST}0{month}", "unit": FIRST_UNIT, "kind": "service_call", "replacements": [burnt]}
        answer = client.post("/v1/visits", json=visit | {"arrived_at": f"2026-0{month}-15T18:00:00Z"}, headers=owner)
        assert answer.status_code == 201, answer.text
        learn_from(target, "visit", visit)
    target.learn("root_cause", 1)
    target.learn("task", "condenser_clean")


def learn_from(target: Target, resource: str, body: dict[str, Any]) -> None:
    """Keep the key of a record."""
    if resource == "unit":
        target.components[body["tag"]] = [component["code"] for component in body.get("components", ())]
    for name in ("tag", "code", "id"):
        if name in body:
            target.learn("unit" if name == "tag" else resource, body[name])
            return
