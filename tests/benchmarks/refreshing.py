"""Refresh of every due item of a large fleet against a scan of the history, while a client posts visits."""

from collections.abc import Iterator
from datetime import timedelta
from itertools import islice
from statistics import median
from time import perf_counter, sleep
from typing import Any

from service.storage.engine.sqlite import driver
from tests.benchmarks import bodies
from tests.benchmarks.load import Client, Outcome
from tests.benchmarks.programs import Server, command, serving
from tests.benchmarks.ratios import Figure, quantile
from tests.benchmarks.run import Run, say

SCAN = "SELECT count(*), max(day), sum(unit_id) FROM task_result"
FETCH = """SELECT t.unit_id, t.task, t.day, t.result, t.as_found
FROM task_result t JOIN visit v ON v.id = t.visit_id WHERE v.void IS NULL ORDER BY t.unit_id"""
SCANS = 3
PAUSE = 0.03  # [s] between a visit's answer and the next visit
REFRESHED = "glycol_fleet_due_refresh_timestamp_seconds "


def refresh(run: Run) -> Iterator[Figure]:
    """By the command, where every item changes; by the server's clockwork at the start of a day, where none does."""
    book = run.large_book
    bare = driver().connect(str(book), isolation_level=None)
    posted = bodies.visits(run.large.units, run.large.today - timedelta(days=2))
    scans = [_scan(bare) for _ in range(SCANS)]
    with serving(book) as server:
        say("refreshing by the command")
        start = perf_counter()
        outcome = _posting_while(server, posted, lambda: command(book, "refresh"))
        yield from _figures("refresh by command, all changed", perf_counter() - start, scans, outcome)
    bare.execute("DELETE FROM day_done")
    with serving(book) as server:
        say("refreshing by the clockwork")
        start = perf_counter() - server.seconds_to_answer
        outcome = _posting_while(server, posted, lambda: _until_done(server))
        yield from _figures("refresh at a day's start, none changed", perf_counter() - start, scans, outcome)


def _scan(bare: Any) -> tuple[float, float]:
    start = perf_counter()
    bare.execute(SCAN).fetchall()
    middle = perf_counter()
    for _ in bare.execute(FETCH):
        pass
    return middle - start, perf_counter() - middle


def _posting_while(server: Server, posted: Iterator[bytes], work: Any) -> Outcome:
    requests = [server.request("POST", "/v1/visits", body) for body in islice(posted, 10_000)]
    client = Client(server.port, requests, pause=PAUSE)
    work()
    return client.stop()


def _until_done(server: Server) -> None:
    while not any(line.startswith(REFRESHED) and line.split()[1] != "0.0" for line in _metrics(server)):
        sleep(0.2)


def _metrics(server: Server) -> list[str]:
    return server.get("/metrics").decode().splitlines()


def _figures(name: str, seconds: float, scans: list[tuple[float, float]], outcome: Outcome) -> Iterator[Figure]:
    scanned, fetched = (median(column) for column in zip(*scans, strict=True))
    yield Figure(
        f"{name} / scan in SQL",
        tuple(seconds / scan for scan, _ in scans),
        goal=20,
        note=f"{seconds:.1f} s, scan {scanned:.2f} s",
    )
    yield Figure(
        f"{name} / valid history fetched by unit",
        tuple(seconds / fetch for _, fetch in scans),
        note=f"fetched {fetched:.2f} s",
    )
    yield Figure(
        f"{name}: others refused",
        (len(outcome.refusals),),
        unit="",
        goal=0,
        note=outcome.refusals[0].rpartition(b"\r\n")[2][:100].decode() if outcome.refusals else "",
    )
    yield Figure(
        f"{name}: others' p99",
        (quantile(outcome.latencies, 0.99) * 1000,),
        unit="ms",
        goal=100,
        note=f"{len(outcome.latencies)} visits, p50 {quantile(outcome.latencies, 0.5) * 1000:.1f} ms, "
        f"longest {max(outcome.latencies) * 1000:.0f} ms",
    )
