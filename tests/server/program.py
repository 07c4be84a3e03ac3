"""Serves the application with a few routes more, that are slow or large: `program.py HOME SETTINGS-AS-JSON`."""

import json
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from flask import Response, request

from service.api import endpoint, wire
from service.api.admission import admission
from service.api.auth import OPEN, OWNER
from service.api.state import EXTENSION
from service.api.telemetry import start_logging
from service.app import create_app, open_database
from service.domain.audit import Actor
from service.server.serve import serve
from service.settings import Settings
from service.storage.engine.database import open_engine
from service.storage.tables import metadata
from service.usecases import tokens

PATHS = ("home", "tls_certificate", "tls_key")
routes = endpoint.Routes("toys")


@routes.get("/v1/slow", allow=OPEN, answers={200: None})
def slow():
    """Takes 0.7 s."""
    print("begun\n", end="", flush=True)  # in one piece: two threads print
    time.sleep(0.7)
    return {"slow": "x" * 300_000}


@routes.get("/v1/endless", allow=OPEN, answers={200: None})
def endless():
    """Takes longer than any test waits."""
    print("begun\n", end="", flush=True)
    time.sleep(600)


@routes.get("/v1/large", allow=OPEN, answers={200: None})
def large():
    """30 MB in one piece."""
    return Response(b"x" * 30_000_000)


@routes.get("/v1/pieces", allow=OPEN, answers={200: None})
def pieces():
    """30 MB in 300 pieces."""
    return Response(piece for piece in [b"y" * 100_000] * 300)


@routes.get("/v1/breaks", allow=OPEN, answers={200: None})
def breaks():
    """Fails after the first piece."""

    def parts() -> Iterator[bytes]:
        yield b"z" * 100_000
        raise RuntimeError("planted")

    return Response(parts())


@routes.post("/v1/echo", allow=OPEN, answers={200: None})
def echo():
    """The length of a JSON text."""
    print("called\n", end="", flush=True)
    return {"length": len(wire.json_body())}


@routes.post("/v1/owned", allow=OWNER, answers={200: None})
def owned():
    """The number of bytes of any body; for the owner."""
    print("called\n", end="", flush=True)
    return {"length": len(request.get_data())}


@routes.get("/v1/seen", allow=OPEN, answers={200: None})
def seen():
    """What the application sees of a request."""
    wanted = ("REMOTE_ADDR", "HTTP_HOST", "PATH_INFO", "QUERY_STRING", "wsgi.url_scheme", "HTTP_X_NAME")
    return {name: request.environ.get(name) for name in wanted}


def main() -> None:
    """Serve until stopped; the first line has the port and a token of each role."""
    home = Path(sys.argv[1])
    chosen = {name: Path(each) if name in PATHS else each for name, each in json.loads(sys.argv[2]).items()}
    url = f"sqlite:///{home}/fleet.db"
    settings = replace(
        Settings(database_url=url, home=home, port=0, threads=2, max_import=8_000_000, failed_tokens=10_000), **chosen
    )
    start_logging("INFO")
    engine = open_engine(url)
    metadata.create_all(engine)  # quicker than by migrations
    engine.dispose()
    database = open_database(settings)
    actor = Actor(name="setup", role="owner", request_id=None, at=datetime.now(UTC))  # noqa: TID251
    made = {}
    for role in ("technician", "dispatcher", "owner"):
        with database.writing() as store:
            made[role] = tokens.create(store, name=role, role=role, actor=actor)[1]
    app = create_app(database, settings)
    endpoint.register(app, [routes])
    serve(
        app,
        settings,
        admit=admission(app),
        count=app.extensions[EXTENSION].metrics.refused,
        ready=lambda _, port: print(json.dumps({"port": port, "tokens": made}), flush=True),
    )
    print("ended", flush=True)
    database.close()


if __name__ == "__main__":
    main()
