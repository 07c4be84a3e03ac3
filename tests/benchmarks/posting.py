"""POST of a full visit against its very rows, each in one durable transaction of the bare driver."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from itertools import islice
from statistics import median
from time import process_time

from tests.benchmarks import bodies
from tests.benchmarks.load import Client, Outcome
from tests.benchmarks.programs import Server, serving
from tests.benchmarks.ratios import Figure, quantile
from tests.benchmarks.replay import Floor, rows_in
from tests.benchmarks.run import Run

VISITS_A_ROUND = {1: 300, 8: 900}  # by the number of clients


def post(run: Run) -> Iterator[Figure]:
    """Throughput and latency at one and at eight clients, due items updated."""
    copy, served = run.copy_of_shop("post-floor"), run.copy_of_shop("post")
    posted = bodies.visits(run.shop.units, run.shop.today - timedelta(days=59))
    with serving(served) as server:
        floor = Floor(copy, served)
        _round(server, floor, posted, clients=8, visits=run.scaled(VISITS_A_ROUND[8]))  # warms both
        for clients, amount in VISITS_A_ROUND.items():
            rounds = [
                _round(server, floor, posted, clients=clients, visits=run.scaled(amount)) for _ in range(run.rounds)
            ]
            yield from _figures(clients, rounds)


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """The same visits over HTTP and written bare: times [s] of each, processor time [s] of all."""

    outcome: Outcome
    bare: list[float]
    processor: float
    bare_processor: float
    rows: int


def _round(server: Server, floor: Floor, posted: Iterator[bytes], *, clients: int, visits: int) -> Round:
    requests = [server.request("POST", "/v1/visits", body) for body in islice(posted, visits)]
    before = server.processor_seconds()
    outcome = Client(server.port, requests, connections=clients).wait()
    after = server.processor_seconds()
    written = floor.missing()
    if len(written) != visits:
        raise RuntimeError(f"{visits} visits were posted, {len(written)} are in the book")
    start = process_time()
    bare = floor.one_by_one(written)
    return Round(
        outcome=outcome,
        bare=bare,
        processor=after - before,
        bare_processor=process_time() - start,
        rows=rows_in(written),
    )


def _figures(clients: int, rounds: list[Round]) -> Iterator[Figure]:
    name = f"POST visit, {clients} client{'s' if clients > 1 else ''}"
    visits = len(rounds[0].bare)
    bare = [visits / sum(each.bare) for each in rounds]
    rates = [each.outcome.rate for each in rounds]
    yield Figure(
        f"{name}: throughput",
        tuple(floor / rate for floor, rate in zip(bare, rates, strict=True)),
        goal=4 if clients > 1 else None,
        note=f"{median(rates):.0f} visits/s; bare {median(bare):.0f}/s, {rounds[0].rows / visits:.1f} rows a visit",
    )
    yield Figure(
        f"{name}: processor time / bare",
        tuple(each.processor / each.bare_processor for each in rounds),
        note=f"{median(each.processor for each in rounds) / visits * 1000:.2f} ms a visit, whatever the disk does",
    )
    halves = [(quantile(each.outcome.latencies, 0.5), quantile(each.outcome.latencies, 0.99)) for each in rounds]
    yield Figure(
        f"{name}: p50 / bare p50",
        tuple(p50 / quantile(each.bare, 0.5) for (p50, _), each in zip(halves, rounds, strict=True)),
        note=f"p50 {median(p50 for p50, _ in halves) * 1000:.2f} ms",
    )
    yield Figure(
        f"{name}: p99 / p50",
        tuple(p99 / p50 for p50, p99 in halves),
        goal=5 if clients > 1 else None,
        note=f"p99 {median(p99 for _, p99 in halves) * 1000:.1f} ms; no error",
    )
