"""The PM list of a large fleet against the bare query, and a deep page of each list against its first."""

import json
from collections.abc import Callable, Iterator
from contextlib import closing
from statistics import median
from time import perf_counter
from typing import Any

from service.api.paging import cursor
from service.api.pm_list import cursor_of
from service.storage.engine.sqlite import driver
from tests.benchmarks.load import Client
from tests.benchmarks.programs import Server
from tests.benchmarks.ratios import Figure, quantile
from tests.benchmarks.run import Run

PM_LIST = """
SELECT d.due_on, d.task, d.basis, d.why, d.interval, d.last_done_on, u.tag, u.place, u.maker, u.model,
       s.code, s.name, s.address, s.access, s.time_zone, s.latitude, s.longitude, c.code, c.name, c.phone, t.code,
       d.site_id, d.unit_id, o.changes
FROM due_item d
JOIN unit u ON u.id = d.unit_id
JOIN site s ON s.id = d.site_id
JOIN customer c ON c.id = d.customer_id
LEFT JOIN technician t ON t.id = s.technician_id
LEFT JOIN unit_task_setting o ON o.unit_id = d.unit_id AND o.task = d.task
WHERE d.due_on <= ?
ORDER BY d.due_on, d.site_id, d.unit_id, d.task LIMIT ?
"""
# The order by what is at stake, and the counts of the whole list, ask for this of everything that is due.
ORDER = """
SELECT d.site_id, d.unit_id, d.task, d.due_on, d.interval, o.changes, s.time_zone, s.technician_id
FROM due_item d
JOIN site s ON s.id = d.site_id
LEFT JOIN unit_task_setting o ON o.unit_id = d.unit_id AND o.task = d.task
WHERE d.due_on <= ?
"""
DEEP = {
    "units": ("/v1/units?limit=100", "SELECT tag FROM unit ORDER BY tag LIMIT 1 OFFSET ?"),
    "visits": (
        "/v1/visits?limit=100",
        "SELECT arrived_at, uuid FROM visit ORDER BY arrived_at DESC, uuid DESC LIMIT 1 OFFSET ?",
    ),
}
DEPTH = 0.8  # of the whole list


def pm_list(run: Run) -> Iterator[Figure]:
    """The first 100 rows and all that is due, over HTTP, against the same two queries' fetchall()."""
    due = run.large.due_rows
    with _bare(run) as bare, run.checkout.serving(run.large_database) as server:
        for rows, goal, times in ((100, 6, run.scaled(100)), (due, 3, run.scaled(30))):
            path = f"/v1/pm-list?limit={rows}"
            _must_hold(server, path, rows)

            def query(most: int = rows) -> Any:
                today = run.large.today.isoformat()
                return bare.execute(ORDER, (today,)).fetchall(), bare.execute(PM_LIST, (today, most)).fetchall()

            yield _against(query, server, path, rounds=run.rounds, times=times, goal=goal, rows=rows)


def _bare(run: Run) -> closing[Any]:
    return closing(driver().connect(str(run.large_database), isolation_level=None))


def _must_hold(server: Server, path: str, rows: int) -> None:
    listed = sum(len(stop["items"]) for stop in json.loads(server.get(path))["stops"])
    if listed != rows:
        raise RuntimeError(f"{path} gives {listed} rows, not {rows}")


def _against(
    query: Callable[[], Any], server: Server, path: str, *, rounds: int, times: int, goal: float, rows: int
) -> Figure:
    asked, floor = [], []
    for _ in range(rounds):
        asked.append(_p50_over_http(server, path, times))
        floor.append(quantile([_seconds(query) for _ in range(times)], 0.5))
    return Figure(
        f"PM list, {rows} rows: p50 / bare query",
        tuple(over / under for over, under in zip(asked, floor, strict=True)),
        goal=goal,
        note=f"{median(asked) * 1000:.2f} ms, bare {median(floor) * 1000:.2f} ms; {len(server.get(path)) // 1000} kB",
    )


def deep_page(run: Run) -> Iterator[Figure]:
    """A page far down each list against its first page."""
    totals = {"units": run.large.units, "visits": run.large.units * run.large.visits}
    with _bare(run) as bare, run.checkout.serving(run.large_database) as server:
        for name, (first, position) in DEEP.items():
            depth = int(totals[name] * DEPTH)
            deep = f"{first}&cursor={cursor(bare.execute(position, (depth,)).fetchone())}"
            yield _deep(server, run, name, (deep, first), depth)
        sites = [row[0] for row in bare.execute("SELECT id FROM site ORDER BY id")]
        shown = sites[: int(len(sites) * DEPTH)]
        first = "/v1/pm-list?limit=100&horizon_days=366"
        yield _deep(server, run, "pm-list", (f"{first}&cursor={cursor_of(set(shown))}", first), len(shown))


def _deep(server: Server, run: Run, name: str, paths: tuple[str, str], depth: int) -> Figure:
    """A deep page against the first one."""
    times = max(run.scaled(30), 3)
    pairs = [tuple(_p50_over_http(server, path, times) for path in paths) for _ in range(run.rounds)]
    return Figure(
        f"{name}, page behind row {depth} / first page",
        tuple(far / near for far, near in pairs),
        goal=1.5,
        note=f"first page {median(near for _, near in pairs) * 1000:.1f} ms",
    )


def _p50_over_http(server: Server, path: str, times: int) -> float:
    return quantile(Client(server.port, [server.request("GET", path)] * times).wait().latencies, 0.5)


def _seconds(work: Callable[[], Any]) -> float:
    start = perf_counter()
    work()
    return perf_counter() - start
