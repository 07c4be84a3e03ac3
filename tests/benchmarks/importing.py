"""Import of a file of visits against the same rows by executemany, all in one durable transaction."""

import json
from collections.abc import Iterator
from datetime import timedelta
from itertools import islice
from pathlib import Path
from statistics import median
from time import perf_counter

from tests.benchmarks import bodies
from tests.benchmarks.programs import command
from tests.benchmarks.ratios import Figure
from tests.benchmarks.replay import Floor, merged, rows_in
from tests.benchmarks.run import Run

ROUNDS = 3
VISITS = 5000


def take_in(run: Run) -> Iterator[Figure]:
    """`glycol-fleet import` from start to end, as the one who waits for it counts."""
    copy, book = run.copy_of_shop("import-floor"), run.copy_of_shop("import")
    posted = bodies.visits(run.shop.units, run.shop.today - timedelta(days=59))
    floor = Floor(copy, book)
    rounds, visits = [], run.scaled(VISITS)
    for _ in range(ROUNDS):
        file = _file(run.folder / "visits.jsonl", islice(posted, visits))
        start = perf_counter()
        command(book, "import", str(file))
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
        goal=5,
        note=f"{visits / taken:.0f} visits/s; bare {visits / bare:.0f}/s, {rows:.1f} rows a visit",
    )


def _file(path: Path, posted: Iterator[bytes]) -> Path:
    with path.open("w") as file:
        file.writelines(json.dumps({"record": "visit", **json.loads(body)}) + "\n" for body in posted)
    return path
