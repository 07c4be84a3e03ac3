"""A large fleet's day start with nothing changed, and the refresh of all of it, alone and beside a busy server."""

from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import timedelta
from itertools import islice
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any

from service.storage.engine.sqlite import driver
from tests.benchmarks import bodies
from tests.benchmarks.load import Client, Outcome
from tests.benchmarks.programs import Server
from tests.benchmarks.ratios import Figure, quantile
from tests.benchmarks.run import Run, say

UNITS = "SELECT count(*), max(registered_on), sum(version) FROM unit"
UNITS_FETCHED = "SELECT * FROM unit"
HISTORY = """SELECT t.unit_id, t.task, t.day, t.result, t.as_found
FROM task_result t JOIN visit v ON v.id = t.visit_id WHERE v.void IS NULL ORDER BY t.unit_id"""
ALL_WRONG = "UPDATE due_item SET why = 'wrong', due_on = '2000-01-01'"
BY_CONDITION = ("condenser_clean", "glycol_strength_check", "bath_level_check")
FALLING = """
INSERT INTO reading (visit_id, position, customer_id, unit_id, quantity, value, dimension, entered, moment, evidence)
SELECT id, 50, customer_id, unit_id, 'bath_level', 1.0 - 0.001 * (id % 90), 'fraction', '95 %', 'as_found', 'seen'
FROM visit
"""
CHANGED = "UPDATE unit SET log_version = log_version + 1 WHERE id % 100 = 0"
STALE = """
import os, sys
from pathlib import Path
from time import perf_counter
from service.app import open_database
from service.settings import from_environment
from service.usecases.maintenance.due import refresh_stale
def peak():  # of this program alone: that of getrusage may be the one of the program that started it
    return Path("/proc/self/status").read_text().partition("VmHWM:")[2].split()[0]
database = open_database(from_environment(os.environ))
start = perf_counter()
units, after, early = 0, 0, None
while after is not None:
    with database.writing() as store:
        after, count = refresh_stale(store, after, 50)
    units += count
    if early is None and units >= int(sys.argv[1]):
        early = peak()
print(perf_counter() - start, units, early or peak(), peak())
database.close()
"""
CACHED = 20_000  # units, more than are kept in memory
SCANS = 5
PAUSE = 0.03  # [s] between a visit's answer and the next visit
DAYS = """
import os, sys
from datetime import timedelta
from time import perf_counter
from service import clock, scheduler
from service.app import open_database
from service.settings import from_environment
database = open_database(from_environment(os.environ))
begin_day = getattr(scheduler, "refresh_due_items", None) or scheduler.refresh_days  # its former name
for days in range(2, 3 + int(sys.argv[1])):  # the first brings all units up to date
    now = clock.now() + timedelta(days=days)
    start = perf_counter()
    begin_day(database, lambda: now, lambda at: print(perf_counter() - start))
database.close()
"""


def day_start(run: Run) -> Iterator[Figure]:
    """The scheduler's work when a day begins at every site, in a process that has done the day before."""
    database = run.copy(run.large_database, "day-start")
    scan, fetch = _floor(database, UNITS), _floor(database, UNITS_FETCHED)
    _, *taken = map(float, run.checkout.run("-c", DAYS, str(run.rounds), database=database).split())
    if len(taken) != run.rounds:
        raise RuntimeError(f"{len(taken)} days of {run.rounds} were done")
    name = f"day start of {run.large.units} units, nothing changed"
    yield Figure(
        f"{name} / one SQL scan of the units",
        tuple(each / scan for each in taken),
        goal=2,
        note=f"{median(taken):.3f} s, scan {scan * 1000:.1f} ms",
    )
    yield Figure(f"{name} / fetching the units", tuple(each / fetch for each in taken), note=f"fetched {fetch:.2f} s")


def forecasts(run: Run) -> Iterator[Figure]:
    """The refresh where all units go by their condition: of all, then of those alone whose history changed."""
    database = run.copy(run.large_database, "forecasts")
    with closing(driver().connect(str(database), isolation_level=None)) as bare:
        bare.execute(FALLING)
        for task in BY_CONDITION:
            bare.execute("INSERT OR REPLACE INTO task_setting VALUES (?, ?, 1)", (task, '{"rule":"condition"}'))
    for name, changed in (("all", ""), ("one in a hundred", CHANGED)):
        with closing(driver().connect(str(database), isolation_level=None)) as bare:
            bare.execute(changed)
        early = run.scaled(CACHED)
        seconds, units, *memory = map(float, run.checkout.run("-c", STALE, str(early), database=database).split())
        about = f"forecasts and due dates of {name}"
        note = f"{units:.0f} of {run.large.units} units in {seconds:.1f} s"
        yield Figure(f"{about}: a unit", (1000 * seconds / units,), unit="ms", goal=5, note=note)
        note = f"{memory[0] / 1024:.0f} MiB after {early} units"
        yield Figure(f"{about}: memory", (memory[1] / 1024,), unit="MiB", goal=400, note=note)


def refresh(run: Run) -> Iterator[Figure]:
    """By the command, where every due item changes: first alone, then while a client posts visits."""
    database = run.copy(run.large_database, "refresh")
    fetch = _floor(database, HISTORY)
    start = perf_counter()
    run.checkout.command(database, "refresh")
    taken = perf_counter() - start
    name = f"full refresh of {run.large.units} units"
    yield Figure(f"{name} / fetching their history", (taken / fetch,), goal=8, note=f"{taken:.1f} s, {fetch:.2f} s")
    with closing(driver().connect(str(database), isolation_level=None)) as bare:
        bare.execute(ALL_WRONG)
    posted = bodies.realistic_mix(run.large.units, run.large.today - timedelta(days=2))
    with run.checkout.serving(database) as server:
        say("refreshing beside a busy server")
        start = perf_counter()
        outcome = _posting_while(server, posted, lambda: run.checkout.command(database, "refresh"))
        taken = perf_counter() - start
    yield from _beside(f"{name} beside a busy server", taken, fetch, outcome)


def _floor(database: Path, query: str) -> float:
    """The median of some runs of a query by the bare driver, after one that warms it [s]."""
    with closing(driver().connect(str(database))) as bare:
        return median([_seconds(bare, query) for _ in range(SCANS + 1)][1:])


def _seconds(bare: Any, query: str) -> float:
    start = perf_counter()
    for _ in bare.execute(query):
        pass
    return perf_counter() - start


def _posting_while(server: Server, posted: Iterator[bytes], work: Callable[[], object]) -> Outcome:
    requests = [server.request("POST", "/v1/visits", body) for body in islice(posted, 10_000)]
    client = Client(server.port, requests, pause=PAUSE)
    try:
        work()
    finally:
        outcome = client.stop()
    return outcome


def _beside(name: str, taken: float, fetch: float, outcome: Outcome) -> Iterator[Figure]:
    yield Figure(f"{name} / fetching", (taken / fetch,), note=f"{taken:.1f} s")
    refused = outcome.refusals[0].rpartition(b"\r\n")[2][:100].decode() if outcome.refusals else ""
    yield Figure(f"{name}: visits refused", (len(outcome.refusals),), unit="", goal=0, note=refused)
    p50, p99 = (1000 * quantile(outcome.latencies, share) for share in (0.5, 0.99))
    yield Figure(
        f"{name}: p99 of visits",
        (p99,),
        unit="ms",
        goal=100,
        note=f"{len(outcome.latencies)} visits, p50 {p50:.1f} ms, longest {max(outcome.latencies) * 1000:.0f} ms",
    )
