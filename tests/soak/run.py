"""The soak itself: a server, its clients, faults that come and go, and what is checked afterwards."""

import json
import os
import resource
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from random import Random
from time import monotonic, sleep
from typing import Any

from service.storage.engine.sqlite import driver
from tests.benchmarks.programs import OURS, environment, megabytes
from tests.soak.load import Client, Report

UNITS, CLIENTS = 40, 4
CUSTOMERS = 10  # so that a document of one of them has hundreds of visits, not all
LEVEL_AFTER = 2000  # requests after which the memory is taken as its level
LISTENING = b"Serving on http://127.0.0.1:"
FLEET: list[dict[str, Any]] = [
    {"record": "technician", "code": "soak", "name": "Soak"},
    *({"record": "customer", "code": f"soak-{n}", "name": f"Soak {n}"} for n in range(CUSTOMERS)),
    *({"record": "site", "code": f"site-{n}", "customer": f"soak-{n}", "name": f"Site {n}",
       "time_zone": "America/Denver"} for n in range(CUSTOMERS)),
    *({"record": "unit", "tag": f"GU-{n}", "site": f"site-{n % CUSTOMERS}", "installed_on": "2022-05-02",
       "components": [{"code": "fan-1", "kind": "condenser_fan"}]} for n in range(UNITS)),
]  # fmt: skip


class Served:
    """A server whose faults can be switched."""

    def __init__(self, folder: Path) -> None:
        self.database, self.faults = folder / "soak.sqlite3", folder / "faults.json"
        self.log = folder / "server.log"
        self.faults.write_text("{}")
        file = folder / "fleet.jsonl"
        file.write_text("\n".join(map(json.dumps, FLEET)))
        OURS.command(self.database, "migrate")
        OURS.command(self.database, "import", str(file))
        self.token = OURS.command(self.database, "token", "create", "--role", "owner", "--name", "soak").strip()
        self.port = 0
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it and wait until it listens."""
        variables = environment(self.database) | {"SOAK_FAULTS": str(self.faults), "GLYCOL_FLEET_LOG_LEVEL": "WARNING"}
        errors = self.log.open("ab")
        start = self.log.stat().st_size
        self.process = subprocess.Popen(
            (sys.executable, "-m", "tests.soak.served", "serve", "--port", "0"),
            cwd=OURS.folder, env=variables, stderr=errors,
        )  # fmt: skip
        errors.close()
        while LISTENING not in (text := self.log.read_bytes()[start:]):
            if self.process.poll() is not None:
                raise RuntimeError(f"the server did not start: {text[-2000:].decode()}")
            sleep(0.05)
        self.port = int(text.partition(LISTENING)[2].split()[0])

    def end(self, number: int) -> None:
        """End it by a signal."""
        assert self.process is not None
        self.process.send_signal(number)
        self.process.wait(60)

    def running(self) -> int:
        """The id of its process."""
        assert self.process is not None
        return self.process.pid

    def memory(self) -> float:
        """What the server's process holds [MB]."""
        return megabytes(self.running())


@contextmanager
def switched(served: Served, name: str, random: Random) -> Iterator[None]:
    """One fault, on while the block runs."""
    if name == "disk full":
        size = served.database.stat().st_size
        former = resource.prlimit(served.running(), resource.RLIMIT_FSIZE, (size // 2, resource.RLIM_INFINITY))
        yield
        resource.prlimit(served.running(), resource.RLIMIT_FSIZE, former)
    elif name in ("slow sync", "clock"):
        value = {"sync_seconds": 0.3} if name == "slow sync" else {"clock_hours": random.choice((-6, 6))}
        served.faults.write_text(json.dumps(value))
        yield
        served.faults.write_text("{}")
    elif name == "locked":
        other = driver().connect(str(served.database), isolation_level=None, timeout=30)
        other.execute("BEGIN IMMEDIATE")
        yield
        other.close()
    elif name == "frozen":
        os.kill(served.running(), signal.SIGSTOP)
        yield
        os.kill(served.running(), signal.SIGCONT)
    else:
        served.end(signal.SIGKILL if name == "killed" else signal.SIGTERM)
        served.start()
        yield


FAULTS = ("disk full", "slow sync", "clock", "locked", "frozen", "killed", "stopped")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the soak found: `wrong` must be empty."""

    requests: int
    answers: dict[str, int]
    faults: dict[str, int]
    level: float
    end: float
    wrong: list[str]


def soak(
    folder: Path, *, requests: int, seconds: float, on: float, seed: int, faults: tuple[str, ...] = FAULTS
) -> Outcome:
    """Load until so many requests were answered and so many seconds are over; each fault is on for `on` seconds."""
    random, report, served = Random(seed), Report(), Served(folder)
    served.start()
    tags = [f"GU-{n}" for n in range(UNITS)]
    clients = [
        Client(lambda: served.port, served.token, tags[n::CLIENTS], CUSTOMERS, seed * 100 + n, report)
        for n in range(CLIENTS)
    ]
    for client in clients:
        client.start()
    counted, level = dict.fromkeys(faults, 0), 0.0
    end = monotonic() + seconds
    while monotonic() < end or report.requests < requests:
        if faults:
            name = random.choice(faults)
            with switched(served, name, random):
                counted[name] += 1
                sleep(on)
            level = 0.0 if name in ("killed", "stopped") else level
        sleep(on)
        since = report.requests
        level = level or (served.memory() if since >= LEVEL_AFTER else 0.0)
        if not any(client.is_alive() for client in clients):
            break
    for client in clients:
        client.done.set()
    for client in clients:
        client.join()
    memory = served.memory()
    wrong = report.wrong + recounted(served, report)
    served.end(signal.SIGTERM)
    wrong += afterwards(served)
    return Outcome(report.requests, dict(sorted(report.answers.items())), counted, level, memory, wrong)


def recounted(served: Served, report: Report) -> list[str]:
    """What the running server's records lack or have too much, by what it acknowledged."""
    lines = [json.loads(line) for line in OURS.command(served.database, "export", "-").splitlines()]
    visits = {line["id"]: line for line in lines if line["record"] == "visit"}
    voids = {line["visit"] for line in lines if line["record"] == "void"}
    corrected = [line["visit"] for line in lines if line["record"] == "correction"]
    last = {line["visit"]: line["correction"]["work"] for line in lines if line["record"] == "correction"}
    wrong = [f"visit {key} is not known to any client" for key in visits.keys() - report.visits.keys()]
    for key, known in report.visits.items():
        if key not in visits:
            wrong.append(f"visit {key} was acknowledged and is not there")
            continue
        if last.get(key, visits[key]["work"]) != known.body["work"]:
            wrong.append(f"visit {key} does not have its last text")
        if corrected.count(key) != known.corrected:
            wrong.append(f"visit {key} has {corrected.count(key)} corrections of {known.corrected}")
        if (key in voids) != known.void:
            wrong.append(f"visit {key} is void: {key in voids}, known to be: {known.void}")
    return wrong + audited(served, report)


def audited(served: Served, report: Report) -> list[str]:
    """What the audit trail has too little or too much, by what was acknowledged."""
    counts: dict[tuple[str, str], int] = {}
    with driver().connect(str(served.database)) as bare:
        for key, action, count in bare.execute(
            "SELECT key, action, count(*) FROM audit WHERE resource = 'visit' GROUP BY key, action"
        ):
            counts[key, action] = count
    wrong = []
    for key, known in report.visits.items():
        wanted = {"created": 1, "corrected": known.corrected, "voided": int(known.void)}
        found = {action: counts.get((key, action), 0) for action in wanted}
        if found != wanted:
            wrong.append(f"the audit trail has {found} of visit {key}, and {wanted} were acknowledged")
    return wrong


def afterwards(served: Served) -> list[str]:
    """What differs after all has been calculated again from the records, with the server ended."""
    wrong = (
        []
        if driver().connect(str(served.database)).execute("PRAGMA integrity_check").fetchone() == ("ok",)
        else ["damaged"]
    )
    before = _due(served)
    OURS.command(served.database, "refresh")
    if _due(served) != before:
        wrong.append("a refresh changes due items")
    log = served.log.read_text()
    if "Traceback" in log or '"traceback"' in log:
        wrong.append(f"the log has a traceback: {log[log.find('raceback') - 200 :][:1500]}")
    return wrong


def _due(served: Served) -> list[Any]:
    with driver().connect(str(served.database)) as bare:
        return sorted(
            bare.execute("SELECT unit_id, task, due_on, basis, why, interval, last_done_on FROM due_item").fetchall()
        )
