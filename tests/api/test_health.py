"""For those who watch. The text of /metrics is read back by Prometheus's own parser."""

from collections.abc import Iterator

import pytest
from flask import Flask
from flask.testing import FlaskClient
from prometheus_client.parser import text_string_to_metric_families

from service.api.state import EXTENSION
from service.app import create_app
from service.domain.errors import Unavailable
from service.settings import Settings
from service.usecases.system import FleetDatabase


def samples(client: FlaskClient) -> Iterator[tuple[str, dict[str, str], float]]:
    for family in text_string_to_metric_families(client.get("/metrics").text):
        yield from ((sample.name, sample.labels, sample.value) for sample in family.samples)


def test_a_process_that_answers_is_healthy(client: FlaskClient) -> None:
    assert client.get("/healthz").get_json() == {"status": "ok"}


def test_a_writable_database_is_ready(client: FlaskClient) -> None:
    answer = client.get("/readyz")

    assert (answer.status_code, answer.get_json()) == (200, {"status": "ok"})


def locked() -> None:
    raise Unavailable("The database is busy with another writer.")


def test_not_ready_reports_what_is_wrong(database: FleetDatabase, settings: Settings) -> None:
    app = create_app(database, settings, checks={"schema": locked})
    answer = app.test_client().get("/readyz")

    assert (answer.status_code, answer.mimetype) == (503, "application/problem+json")
    assert answer.get_json()["detail"] == "schema: The database is busy with another writer."
    assert answer.headers["Retry-After"] == "1"


def test_a_database_that_cannot_be_written_is_not_ready(
    client: FlaskClient, database: FleetDatabase, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(type(database.place), "write_a_little", staticmethod(lambda _link: locked()))

    assert client.get("/readyz").status_code == 503
    assert client.get("/healthz").status_code == 200


def test_requests_are_counted_by_method_route_and_status(file_app: Flask) -> None:
    client = file_app.test_client()
    client.get("/problems/invalid")
    client.get("/problems/stale")

    labels = {"method": "GET", "route": "/problems/{name}", "status": "200"}
    assert ("glycol_fleet_http_requests_total", labels, 2.0) in samples(client)


def test_made_up_paths_and_methods_share_one_line(file_app: Flask) -> None:
    client = file_app.test_client()
    for number in range(5):
        client.open(f"/none/{number}", method=f"M{number}")

    labels = {"method": "any", "route": "unmatched", "status": "404"}
    assert ("glycol_fleet_http_requests_total", labels, 5.0) in samples(client)


def test_visits_and_refreshes_are_reported(file_app: Flask) -> None:
    metrics = file_app.extensions[EXTENSION].metrics
    metrics.visits_posted.inc()
    metrics.due_refreshed.set(1_780_000_000)

    shown = {name: value for name, labels, value in samples(file_app.test_client()) if not labels}
    assert shown["glycol_fleet_visits_posted_total"] == 1
    assert shown["glycol_fleet_due_refresh_timestamp_seconds"] == 1_780_000_000
