"""Import of a file of visits against the same rows by executemany, all in one durable transaction."""

from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from itertools import islice
from statistics import median
from time import perf_counter

from tests.benchmarks import bodies
from tests.benchmarks.ratios import Figure
from tests.benchmarks.replay import Floor, merged, rows_in
from tests.benchmarks.run import Run

ROUNDS = 3
VISITS = 5000


def import_visits(run: Run) -> Iterator[Figure]:
    """`glycol-fleet import` from start to end, as the one who waits for it counts."""
    copy, database = run.copy(run.shop_database, "floor"), run.copy(run.shop_database, "import")
    posted = bodies.part_failed(run.shop.units, run.shop.today - timedelta(days=59))
    rounds, visits = [], run.scaled(VISITS)
    with closing(Floor(copy, database)) as floor:
        for _ in range(ROUNDS):
            file = bodies.import_file(run.scratch / "visits.jsonl", islice(posted, visits))
            start = perf_counter()
            run.checkout.command(database, "import", str(file))
            taken = perf_counter() - start
            missing = floor.missing()
            whole = merged(missing)
            start = perf_counter()
            floor.write(whole)
            rounds.append((taken, perf_counter() - start, rows_in(missing) / visits))
    taken, bare, rows = (median(column) for column in zip(*rounds, strict=True))
    yield Figure(
        f"import of {visits} visits / executemany",
        tuple(taken / bare for taken, bare, _ in rounds),
        goal=4,
        note=f"{visits / taken:.0f} visits/s; bare {visits / bare:.0f}/s, {rows:.1f} rows a visit",
    )
