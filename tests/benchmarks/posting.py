"""POST of a full visit against its very rows, each in one durable transaction of the bare driver."""

from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import timedelta
from itertools import islice
from pathlib import Path
from statistics import median
from time import process_time

from tests.benchmarks import bodies
from tests.benchmarks.load import Client, Outcome
from tests.benchmarks.programs import Server
from tests.benchmarks.ratios import Figure, quantile
from tests.benchmarks.replay import Floor, rows_in
from tests.benchmarks.run import Run

VISITS_A_ROUND = {1: 300, 8: 900}  # by the number of clients


def realistic_mix(run: Run) -> Iterator[Figure]:
    """Two thirds maintenance, the rest service calls; every unit has had one such visit since its maintenance."""
    database = run.copy(run.shop_database, "served")
    posted = bodies.realistic_mix(run.shop.units, run.shop.today - timedelta(days=59))
    history = bodies.import_file(run.scratch / "history.jsonl", islice(posted, run.shop.units))
    run.checkout.command(database, "import", str(history))
    yield from _post(run, database, posted, name="POST visit, realistic mix", goals={1: None, 8: 4})


def every_part_failed(run: Run) -> Iterator[Figure]:
    """The worst there is: every visit replaces a failed part, so that every unit is searched for root causes."""
    database = run.copy(run.shop_database, "served")
    posted = bodies.part_failed(run.shop.units, run.shop.today - timedelta(days=59))
    yield from _post(run, database, posted, name="POST visit, every part failed", goals={8: 5})


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """The same visits over HTTP and written bare: times [s] of each, processor time [s] of all."""

    outcome: Outcome
    bare: list[float]
    processor: float
    bare_processor: float
    rows: int


def _post(
    run: Run, database: Path, posted: Iterator[bytes], *, name: str, goals: dict[int, float | None]
) -> Iterator[Figure]:
    """Throughput and latency by the number of clients, due items updated."""
    copy = run.copy(database, "floor")
    with run.checkout.serving(database) as server, closing(Floor(copy, database)) as floor:
        _round(server, floor, posted, clients=8, visits=run.scaled(VISITS_A_ROUND[8]))  # warms both
        for clients, goal in goals.items():
            visits = run.scaled(VISITS_A_ROUND[clients])
            rounds = [_round(server, floor, posted, clients=clients, visits=visits) for _ in range(run.rounds)]
            yield from _figures(f"{name}, {clients} client{'s' if clients > 1 else ''}", rounds, goal)


def _round(server: Server, floor: Floor, posted: Iterator[bytes], *, clients: int, visits: int) -> Round:
    requests = [server.request("POST", "/v1/visits", body) for body in islice(posted, visits)]
    before = server.processor_seconds()
    outcome = Client(server.port, requests, connections=clients).wait()
    after = server.processor_seconds()
    written = floor.missing()
    if len(written) != visits:
        raise RuntimeError(f"{visits} visits were posted, {len(written)} are in the database")
    start = process_time()
    bare = floor.one_by_one(written)
    return Round(
        outcome=outcome,
        bare=bare,
        processor=after - before,
        bare_processor=process_time() - start,
        rows=rows_in(written),
    )


def _figures(name: str, rounds: list[Round], goal: float | None) -> Iterator[Figure]:
    visits = len(rounds[0].bare)
    bare = [visits / sum(each.bare) for each in rounds]
    rates = [each.outcome.rate for each in rounds]
    yield Figure(
        f"{name}: throughput",
        tuple(floor / rate for floor, rate in zip(bare, rates, strict=True)),
        goal=goal,
        note=f"{median(rates):.0f} visits/s; bare {median(bare):.0f}/s, {rounds[0].rows / visits:.1f} rows a visit",
    )
    yield Figure(
        f"{name}: processor time / bare",
        tuple(each.processor / each.bare_processor for each in rounds),
        note=f"{median(each.processor for each in rounds) / visits * 1000:.2f} ms a visit, whatever the disk does",
    )
    p50, p99 = ([quantile(each.outcome.latencies, share) for each in rounds] for share in (0.5, 0.99))
    yield Figure(
        f"{name}: p99 / p50",
        tuple(late / half for late, half in zip(p99, p50, strict=True)),
        goal=5 if goal else None,
        note=f"p50 {median(p50) * 1000:.2f} ms, p99 {median(p99) * 1000:.1f} ms; no error",
    )
