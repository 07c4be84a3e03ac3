"""A real server on a real file: killed, locked out, out of space, stopped; what it acknowledged is there, once."""

import http.client
import json
import os
import resource
import signal
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from pathlib import Path
from threading import Lock, Thread
from typing import IO, Any, NamedTuple
from uuid import uuid4

import pytest

from service.app import migrate, open_database
from service.clock import now
from service.domain.audit import Actor
from service.schemas.transfer import read_lines
from service.settings import Settings
from service.storage.engine.sqlite import driver
from service.usecases import tokens
from service.usecases.maintenance.refreshing import refresh_range
from service.usecases.transfer import importing

PROGRAM = Path(sys.executable).with_name("glycol-fleet")
FLEET = [
    {"record": "customer", "code": "lantern", "name": "The Lantern Room"},
    {"record": "technician", "code": "rhea", "name": "Rhea"},
    {"record": "site", "code": "quay", "customer": "lantern", "name": "Quay", "time_zone": "America/Denver"},
    *(
        {"record": "unit", "tag": f"GU-{n}", "site": "quay", "installed_on": "2023-05-02",
         "components": [{"code": "fan-1", "kind": "condenser_fan"}]}
        for n in (1, 2)
    ),
]  # fmt: skip
PARTS = {"reading": 2, "task_result": 1, "replacement": 1, "observation": 1}
TASKS = ("condenser_clean", "pump_check", "trunk_check", "strainer_clean")


def a_visit(number: int = 0, unit: str = "GU-1") -> dict[str, Any]:
    """A visit with parts of every kind, on a day of its own."""
    day = f"2026-0{1 + number % 5}-{1 + number % 28:02}"
    reading = {"quantity": "bath_temperature", "when": "as_found"}
    return {
        "id": str(uuid4()), "unit": unit, "kind": "maintenance", "arrived_at": f"{day}T18:00:00Z", "technician": "rhea",
        "readings": [reading | {"value": f"{30 + number % 20} degF"}, reading | {"value": "28 degF"}],
        "tasks": [{"task": TASKS[number % 4], "result": "done"}],
        "replacements": [{"component": "fan-1", "reason": "failed", "condition": "seized", "evidence": "seen"}],
        "observations": [{"code": "pump_noisy"}],
        "outcome": ("running", "recovering", "down")[number % 3],
    }  # fmt: skip


class Answer(NamedTuple):
    status: int
    kind: str
    headers: dict[str, str]
    body: bytes


class Shop:
    """A home with a fleet, and the server over it."""

    def __init__(self, home: Path, database_url: str | None = None) -> None:
        self.home = home
        self.file = home / "glycol-fleet.sqlite3"
        self.settings = Settings(database_url=database_url or f"sqlite:///{self.file}", home=home)
        migrate(self.settings)
        self.owner = Actor("tester", "owner", None, now())
        with self.open() as database, database.writing() as store:
            importing.import_records(
                store, self.owner, read_lines(json.dumps(r).encode() for r in FLEET), keep_good=False
            )
            self.token = tokens.create(store, name="tester", role="owner", actor=self.owner)[1]

    def environ(self) -> dict[str, str]:
        """The variables of a process that uses this home and its database."""
        return {"GLYCOL_FLEET_HOME": str(self.home), "GLYCOL_FLEET_DATABASE_URL": self.settings.database_url}

    @contextmanager
    def open(self) -> Iterator[Any]:
        """The database, opened by the test's own process; only while no server runs."""
        with closing(open_database(self.settings)) as database:
            yield database

    def start(self, **further: str) -> None:
        """Start the server, with further variables in its environment, and wait until it listens."""
        environ = os.environ | self.environ() | {"GLYCOL_FLEET_LOG_LEVEL": "ERROR"} | further
        self.process = subprocess.Popen([PROGRAM, "serve", "--port", "0"], env=environ, stderr=subprocess.PIPE)
        assert self.process.stderr is not None
        first_line = next(line for line in self.process.stderr if line.startswith(b"Serving on"))
        self.port = int(first_line.rpartition(b":")[2])
        self.errors: list[bytes] = []
        self.listener = Thread(target=self._listen, args=(self.process.stderr,))
        self.listener.start()

    def _listen(self, stream: IO[bytes]) -> None:
        with stream:
            self.errors.extend(stream)

    def end(self, number: int) -> int:
        """Send a signal and wait for the end; the exit code."""
        self.process.send_signal(number)
        code = self.process.wait(30)
        self.listener.join()
        return code

    def ask(self, method: str, path: str, body: Any = None) -> Answer:
        """One request on a connection of its own."""
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)) as connection:
            headers = {"Authorization": f"Bearer {self.token}", "Content-Type": "application/json"}
            connection.request(method, path, None if body is None else json.dumps(body), headers)
            answer = connection.getresponse()
            return Answer(answer.status, answer.headers["Content-Type"], dict(answer.headers), answer.read())

    def post(self, visit: dict[str, Any]) -> Answer:
        """Post a visit."""
        return self.ask("POST", "/v1/visits", visit)

    def rows(self, query: str) -> list[tuple[Any, ...]]:
        """What the file holds, by a process that is not the server."""
        with closing(driver().connect(str(self.file))) as connection:
            found: list[tuple[Any, ...]] = connection.execute(query).fetchall()
            return found

    def due_items(self) -> list[tuple[Any, ...]]:
        """Every due item."""
        return self.rows("SELECT * FROM due_item ORDER BY unit_id, task")

    def refresh_all(self) -> None:
        """Work out all due items anew."""
        with self.open() as database:
            with database.writing() as store:
                store.link.plain("DELETE FROM due_item")
            refresh_range(database, 1, 1000)


@pytest.fixture
def stopped(tmp_path: Path) -> Iterator[Shop]:
    """A shop whose server does not run yet."""
    shop = Shop(tmp_path)
    yield shop
    if hasattr(shop, "process") and shop.process.poll() is None:
        shop.end(signal.SIGKILL)


@pytest.fixture
def shop(stopped: Shop) -> Shop:
    """A shop whose server runs."""
    stopped.start()
    return stopped


def is_problem(answer: Answer, status: int) -> bool:
    """Whether it is a problem document that says when to come again."""
    assert (answer.status, answer.kind) == (status, "application/problem+json"), answer
    assert answer.headers["Retry-After"] == "1"
    return bool(json.loads(answer.body)["detail"])


# --- killed ----------------------------------------------------------------------------------------------------------


class Posters:
    """Threads that post one visit after the other, each again until it is acknowledged; the server dies under them.

    Or what `kill` ends: then 503 may be an answer, of a server without its database or one that waited for a lock.
    """

    def __init__(self, shop: Shop, kill: Callable[[], None] | None = None) -> None:
        self.shop = shop
        self.kill = kill
        self.acknowledged: dict[str, dict[str, Any]] = {}
        self.unanswered: list[dict[str, Any]] = []
        self.mutex = Lock()
        self.number = 0

    def next(self) -> dict[str, Any]:
        with self.mutex:
            self.number += 1
            return self.unanswered.pop() if self.unanswered else a_visit(self.number, f"GU-{1 + self.number % 2}")

    def live(self, kill_after: int) -> None:
        """Post from four threads; the one that gets the last of so many answers kills the server at once."""
        last = len(self.acknowledged) + kill_after
        with ThreadPoolExecutor(4) as threads:
            list(threads.map(lambda _: self.post_until_killed(last), range(4)))

    def post_until_killed(self, last: int) -> None:
        while True:
            visit = self.next()
            try:
                answer = self.shop.post(visit)
            except (OSError, http.client.HTTPException):
                with self.mutex:
                    self.unanswered.append(visit)
                return
            if answer.status == 503 and self.kill:
                with self.mutex:
                    self.unanswered.append(visit)
                return
            assert answer.status == 201, answer
            with self.mutex:
                self.acknowledged[visit["id"]] = visit
                if len(self.acknowledged) == last:
                    (self.kill or self.shop.process.kill)()


def test_what_was_acknowledged_outlives_kill_9(stopped: Shop) -> None:
    posters = Posters(stopped)
    for kill_after in (1, 2, 15, 60):
        stopped.start()
        posters.live(kill_after)
        stopped.end(signal.SIGKILL)

        stored = [uuid for (uuid,) in stopped.rows("SELECT uuid FROM visit")]
        known = posters.acknowledged.keys() | {visit["id"] for visit in posters.unanswered}
        assert stopped.rows("PRAGMA integrity_check") == [("ok",)]
        assert stopped.rows("PRAGMA foreign_key_check") == []
        assert posters.acknowledged.keys() <= set(stored) <= known
        assert len(stored) == len(set(stored))
        assert torn(stopped) == []
        before = stopped.due_items()
        stopped.refresh_all()
        assert stopped.due_items() == before


def torn(shop: Shop) -> list[tuple[Any, ...]]:
    """Visits that lack a part or have one too many."""
    found: list[tuple[Any, ...]] = []
    for table, parts in PARTS.items():
        counted = f"(SELECT count(*) FROM {table} WHERE visit_id = visit.id)"
        found += shop.rows(f"SELECT uuid, '{table}', {counted} FROM visit WHERE {counted} != {parts}")
    return found


def test_a_visit_posted_again_after_the_server_died_is_still_one(stopped: Shop) -> None:
    stopped.start()
    visit = a_visit()
    first = stopped.post(visit)
    stopped.end(signal.SIGKILL)
    stopped.start()
    again = [stopped.post(visit) for _ in range(3)]

    assert [(answer.status, answer.body) for answer in again] == [(201, first.body)] * 3
    assert stopped.rows("SELECT uuid FROM visit") == [(visit["id"],)]


def test_an_import_killed_in_the_middle_leaves_nothing(stopped: Shop) -> None:
    visits = [{"record": "visit"} | a_visit(n) for n in range(4000)]
    environ = os.environ | {"GLYCOL_FLEET_HOME": str(stopped.home)}
    command = [PROGRAM, "import", "-"]
    with subprocess.Popen(command, env=environ, stdin=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdin is not None
        process.stdin.write(b"\n".join(json.dumps(visit).encode() for visit in visits))
        process.stdin.close()
        until(lambda: stopped.file.with_name(stopped.file.name + "-wal").exists())
        process.kill()
    stopped.start()

    assert stopped.ask("GET", "/readyz").status == 200
    assert stopped.rows("SELECT count(*) FROM visit") == [(0,)]
    assert stopped.rows("PRAGMA integrity_check") == [("ok",)]


def until(came: Callable[[], bool]) -> None:
    """Wait for something that comes in its own time, up to a limit that only a hang reaches."""
    deadline = time.monotonic() + 30
    while not came():
        assert time.monotonic() < deadline, "it never came"
        time.sleep(0.01)


# --- locked, full ----------------------------------------------------------------------------------------------------


@contextmanager
def locked(shop: Shop) -> Iterator[None]:
    """The file held by another process, as a tool of somebody's might."""
    with closing(sqlite3.connect(shop.file, isolation_level=None)) as holder:
        holder.execute("BEGIN IMMEDIATE")
        yield


def test_a_locked_database_is_reported_reads_go_on_and_it_heals(shop: Shop) -> None:
    visit = a_visit()
    with locked(shop):
        with ThreadPoolExecutor(4) as threads:
            answers = list(threads.map(shop.post, [visit, a_visit(), a_visit(), visit]))
        reads = [shop.ask("GET", path).status for path in ("/v1/units/GU-1", "/v1/pm-list", "/healthz")]
        ready = shop.ask("GET", "/readyz")

    assert all(is_problem(answer, 503) for answer in answers)
    assert is_problem(ready, 503)
    assert "database:" in json.loads(ready.body)["detail"]
    assert reads == [200, 200, 200]
    assert [shop.post(visit).status, shop.ask("GET", "/readyz").status] == [201, 200]
    assert shop.rows("SELECT uuid FROM visit") == [(visit["id"],)]


@contextmanager
def full(shop: Shop) -> Iterator[None]:
    """No byte more to any file of the server's."""
    former = resource.prlimit(shop.process.pid, resource.RLIMIT_FSIZE, (0, resource.RLIM_INFINITY))
    yield
    resource.prlimit(shop.process.pid, resource.RLIMIT_FSIZE, former)


def test_a_full_disk_is_reported_reads_go_on_and_it_heals(shop: Shop) -> None:
    stored, refused = a_visit(), [a_visit(n) for n in range(6)]
    assert shop.post(stored).status == 201
    with full(shop):
        with ThreadPoolExecutor(3) as threads:
            answers = list(threads.map(shop.post, refused))
        reads = [shop.ask("GET", path).status for path in (f"/v1/visits/{stored['id']}", "/v1/exports", "/healthz")]
        ready = shop.ask("GET", "/readyz")

    assert all(is_problem(answer, 503) for answer in answers)
    assert is_problem(ready, 503)
    assert reads == [200, 200, 200]
    assert shop.rows("SELECT uuid FROM visit") == [(stored["id"],)]
    assert [shop.post(visit).status for visit in refused] == [201] * 6
    assert shop.ask("GET", "/readyz").status == 200
    assert (shop.end(signal.SIGTERM), shop.rows("PRAGMA integrity_check")) == (0, [("ok",)])


def test_readyz_reports_a_schema_that_is_not_at_head(shop: Shop) -> None:
    (head,) = shop.rows("SELECT version_num FROM alembic_version")
    set_revision(shop, "0000")
    result = shop.ask("GET", "/readyz")
    set_revision(shop, head[0])

    assert is_problem(result, 503)
    assert "schema: the schema is at 0000" in json.loads(result.body)["detail"]
    assert shop.ask("GET", "/readyz").status == 200


def set_revision(shop: Shop, revision: str) -> None:
    with closing(sqlite3.connect(shop.file, isolation_level=None)) as connection:
        connection.execute("UPDATE alembic_version SET version_num = ?", (revision,))


# --- stopped ---------------------------------------------------------------------------------------------------------


def test_sigterm_lets_the_request_in_flight_finish(shop: Shop) -> None:
    visit = a_visit()
    with ThreadPoolExecutor(1) as threads:
        with locked(shop):
            posted = threads.submit(shop.post, visit)
            time.sleep(0.3)  # long enough for it to stand in the queue for the lock
            shop.process.send_signal(signal.SIGTERM)
            time.sleep(0.2)  # long enough for the signal to be taken
            begun = not posted.done()
        answer = posted.result()
    code = shop.process.wait(30)
    shop.listener.join()

    assert (begun, answer.status, code, shop.errors) == (True, 201, 0, [])
    assert shop.rows("SELECT uuid FROM visit") == [(visit["id"],)]
    assert sorted(path.name for path in shop.home.iterdir()) == [shop.file.name]  # nothing is left in a log beside it


# --- many at once ----------------------------------------------------------------------------------------------------


def test_eight_clients_at_one_unit_lose_nothing(shop: Shop) -> None:
    visits = [a_visit(n) for n in range(80)]
    with ThreadPoolExecutor(8) as threads:
        statuses = Counter(answer.status for answer in threads.map(shop.post, visits))
    result = [json.loads(shop.ask("GET", f"/v1/visits/{visit['id']}").body)["id"] for visit in visits]
    shop.end(signal.SIGTERM)
    before = shop.due_items()
    shop.refresh_all()

    assert statuses == {201: 80}
    assert result == [visit["id"] for visit in visits]
    assert torn(shop) == []
    assert shop.due_items() == before


def test_the_same_visit_posted_twenty_times_at_once_is_one(shop: Shop) -> None:
    visit = a_visit()
    with ThreadPoolExecutor(20) as threads:
        answers = list(threads.map(shop.post, [visit] * 20))

    assert {(answer.status, answer.body) for answer in answers} == {(201, answers[0].body)}
    assert shop.rows("SELECT uuid FROM visit") == [(visit["id"],)]


def test_a_refresh_beside_a_busy_server_ends_and_no_visit_is_refused(stopped: Shop) -> None:
    units = [FLEET[-1] | {"tag": f"GU-{n}"} for n in range(3, 601)]
    with stopped.open() as database, database.writing() as store:
        lines = read_lines(json.dumps(unit).encode() for unit in units)
        importing.import_records(store, stopped.owner, lines, keep_good=False)
        store.link.plain("DELETE FROM due_item")
    stopped.start()
    environ = os.environ | {"GLYCOL_FLEET_HOME": str(stopped.home)}
    with subprocess.Popen([PROGRAM, "refresh"], env=environ, stderr=subprocess.PIPE) as refresh:

        def post(number: int) -> Counter[int]:
            statuses: Counter[int] = Counter()
            while refresh.poll() is None:
                visit = a_visit(number, f"GU-{1 + (8 * statuses.total() + number) % 600}")
                statuses[stopped.post(visit).status] += 1
            return statuses

        with ThreadPoolExecutor(8) as threads:
            statuses = sum(threads.map(post, range(8)), Counter[int]())
        assert refresh.stderr is not None
        result = refresh.stderr.read().decode()

    assert (refresh.returncode, result.splitlines()[0]) == (0, "Refreshed the due items of 600 units."), result
    assert list(statuses) == [201]
    assert stopped.rows("SELECT count(DISTINCT unit_id) FROM due_item") == [(600,)]


def test_the_long_run_of_kills_and_restores_holds_in_its_short_form() -> None:
    from tests import kills  # it imports this module

    assert len(kills.run(3, seed=1, restored_every=3).acknowledged) >= 3
