"""Records what a server does to its files while visits are posted to it."""

import http.client
import os
import re
import shutil
import signal
import subprocess
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from time import sleep

from tests.e2e.test_durability import PROGRAM, Shop, a_visit
from tests.power_cuts.disk import Record, Start, records, start_of

CLIENTS = 4
CREATED = re.compile(rb"\r\nlocation: [^\r]*/v1/visits/([0-9a-f-]{36})\r\n", re.IGNORECASE)
MEMORY = Path("/dev/shm")  # in memory, where there is such a file system


@dataclass
class Recording:
    """The files before, every operation, the files afterwards, and the visits that were sent."""

    start: Start
    log: list[Record]
    end: Start
    sent: set[str]
    refused: int


@contextmanager
def a_folder() -> Iterator[Path]:
    """A folder of its own, in memory where that can be."""
    with TemporaryDirectory(prefix="glycol-fleet-cuts-", dir=MEMORY if MEMORY.is_dir() else None) as folder:
        yield Path(folder).resolve()


def compiler() -> str | None:
    """The C compiler, which the recording needs."""
    return shutil.which("cc")


def build(folder: Path) -> Path:
    """The library that records."""
    library, source = folder / "shim.so", Path(__file__).with_name("shim.c")
    subprocess.run(["cc", "-shared", "-fPIC", "-O2", "-o", library, source, "-ldl", "-lpthread"], check=True)
    return library


def recorder(folder: Path, home: Path, log: Path) -> dict[str, str]:
    """The variables with which a process records what it does in `home`."""
    return {"LD_PRELOAD": str(build(folder)), "RECORD_FOLDER": str(home), "RECORD_LOG": str(log)}


def record_command(home: Path, *words: str) -> Recording:
    """One command of the product over the database in `home`."""
    with a_folder() as folder:
        log, start = folder / "log", start_of(home)
        environ = os.environ | recorder(folder, home, log) | {"GLYCOL_FLEET_HOME": str(home)}
        subprocess.run([PROGRAM, *words], env=environ, check=True, capture_output=True)
        return Recording(start, list(records(log.read_bytes())), start_of(home), set(), 0)


@dataclass
class Clients:
    """Post visits to a server, each again until it is stored."""

    shop: Shop
    fail: Path
    failing: float
    random: Random
    sent: set[str] = field(default_factory=set)
    refused: int = 0

    def post(self, number: int) -> None:
        """One visit; before some of them the next sync is made to fail."""
        visit = a_visit(number, f"GU-{1 + number % 2}")
        self.sent.add(visit["id"])
        for _ in range(200):
            if self.random.random() < self.failing:
                self.fail.touch()
            answer = self.shop.post(visit)
            if answer.status == http.client.CREATED:
                return
            assert answer.status == http.client.SERVICE_UNAVAILABLE, answer
            self.refused += 1
            sleep(0.01)
        raise AssertionError("a visit was not stored in 200 attempts")


def record(visits: int, *, failing: float, seed: int, starts: int = 2) -> Recording:
    """A server over a new fleet, started so many times; before a share of the attempts to post the next sync fails."""
    with a_folder() as folder:
        home, log = folder / "home", folder / "log"
        home.mkdir()
        shop = Shop(home)
        start = start_of(home)
        clients = Clients(shop, folder / "fail", failing, Random(seed))
        shim = recorder(folder, home, log) | {"RECORD_FAIL": str(clients.fail)}
        for turn in range(starts):
            shop.start(**shim)
            with ThreadPoolExecutor(CLIENTS) as threads:
                list(threads.map(clients.post, range(turn, visits, starts)))
            shop.end(signal.SIGTERM)
        return Recording(start, list(records(log.read_bytes())), start_of(home), clients.sent, clients.refused)


def acknowledged(record: Record) -> str | None:
    """The visit whose storing was acknowledged by this."""
    found = CREATED.search(record.data) if record.kind == b"A" else None
    return found[1].decode() if found else None
