"""Processes that write to one SQLite file take turns, counted in transactions and not in time."""

import fcntl
import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from itertools import count
from pathlib import Path
from time import monotonic, sleep

import pytest
from sqlalchemy import text

from service.domain.errors import Unavailable
from service.folders import shipped
from service.storage import migrating
from service.storage.engine import turnstile
from service.storage.engine.database import open_database
from service.storage.engine.sqlite import driver
from service.storage.engine.statements import Statement
from service.storage.engine.turnstile import Turnstile

TURNS = 50
LONG = 30.0  # [s] a wait that only a hang reaches
FILL = Statement(text("INSERT INTO jar (name, n) VALUES (:name, :n)"))
NAMES = Statement(text("SELECT name FROM jar ORDER BY rowid"))
# Each transaction ends only when another process waits for the next one: the rule alone decides the order.
WRITER = """
import sys
from service.storage.engine.database import open_database
from tests.storage.engine.test_turnstile import FILL, until, waited_for

url, turns = sys.argv[1], int(sys.argv[2])
database = open_database(url, lambda link: link, patience=30.0)
for n in range(turns):
    with database.writing() as link:
        link.run(FILL, name="process", n=n)
        if n < turns - 1:
            until(lambda: waited_for(database.place.turnstile))
database.close()
"""
HOLDER = """
import sys, time
from service.storage.engine.database import open_database

with open_database(sys.argv[1], lambda link: link).writing():
    print("holding", flush=True)
    time.sleep(600)
"""


def until(condition):
    """Wait for what another thread or process is about to do."""
    deadline = monotonic() + LONG
    while not condition():
        assert monotonic() < deadline, "it did not come"
        sleep(0.0002)


def waited_for(queue):
    """Whether somebody holds the place behind the writer."""
    with open(queue.paths[0]) as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return True
        return False


@pytest.fixture
def pair(tmp_path):
    """Two queues over one file, as two processes have them: the locks belong to the opened files."""
    first, second = Turnstile(tmp_path / "fleet.db"), Turnstile(tmp_path / "fleet.db")
    yield first, second
    first.close()
    second.close()


def start(code, *arguments):
    command = [sys.executable, "-c", code, *map(str, arguments)]
    return subprocess.Popen(command, cwd=Path(__file__).parents[3], stdout=subprocess.PIPE, text=True)


def test_another_process_writes_after_one_batch_of_many_threads(sqlite_jars):
    """Eight threads never leave the writer free; another process waits for the batch under way, and for no other."""
    writer, queue = sqlite_jars.place.writer, sqlite_jars.place.turnstile
    writer.patience, writer.limit = LONG, 4
    with start(WRITER, f"sqlite:///{sqlite_jars.place.path}", TURNS) as other, ThreadPoolExecutor(8) as pool:

        def load(number):
            for n in count():
                if other.poll() is not None:
                    break
                with sqlite_jars.writing() as link:
                    link.run(FILL, name=f"thread {number}", n=n)
                    until(lambda: waited_for(queue) or other.poll() is not None)

        list(pool.map(load, range(8)))
        assert other.returncode == 0

    with sqlite_jars.reading() as link:
        order = "".join(name[0] for (name,) in link.rows(NAMES))
    assert re.fullmatch(f"(t{{1,4}}p){{{TURNS}}}t*", order)


def test_who_has_written_does_not_pass_one_who_waits(pair):
    first, second = pair
    first.take(0.0)
    with ThreadPoolExecutor(1) as pool:
        waiting = pool.submit(second.take, monotonic() + LONG)
        until(lambda: waited_for(first))
        first.release()
        with pytest.raises(Unavailable, match="another writer"):
            first.take(0.0)
        waiting.result()


def test_a_killed_process_leaves_the_turn(sqlite_jars):
    with start(HOLDER, f"sqlite:///{sqlite_jars.place.path}") as holder:
        assert holder.stdout.readline() == "holding\n"
        sqlite_jars.place.writer.patience = 0.02
        with pytest.raises(Unavailable, match="another writer"), sqlite_jars.writing():
            pass
        holder.kill()
        holder.wait(LONG)
        sqlite_jars.place.writer.patience = LONG

        sqlite_jars.writable()


def test_who_gives_up_waiting_leaves_the_place_behind_the_writer(pair):
    first, second = pair
    first.take(0.0)
    with pytest.raises(Unavailable, match="another writer"):
        second.take(0.0)
    assert not waited_for(first)
    first.release()

    second.take(0.0)


def test_a_transaction_that_cannot_begin_leaves_the_turn(sqlite_jars):
    other = Turnstile(sqlite_jars.place.path)
    sqlite_jars.place.writer.patience = 0.02
    with closing(driver().connect(str(sqlite_jars.place.path), isolation_level=None)) as foreign:
        foreign.execute("BEGIN IMMEDIATE")
        with pytest.raises(Unavailable, match="another writer"), sqlite_jars.writing():
            pass

    other.take(0.0)
    other.close()


@pytest.mark.parametrize("error", [None, LookupError, Unavailable])
def test_every_end_of_a_transaction_leaves_the_turn(sqlite_jars, error):
    other = Turnstile(sqlite_jars.place.path)
    try:
        with sqlite_jars.writing():
            with pytest.raises(Unavailable, match="another writer"):
                other.take(0.0)
            if error:
                raise error
    except (LookupError, Unavailable):
        pass

    other.take(0.0)
    other.close()


def test_a_migration_waits_for_its_turn(pair, tmp_path, monkeypatch):
    first, _ = pair
    url = f"sqlite:///{tmp_path}/fleet.db"
    monkeypatch.setattr(migrating, "PATIENCE", 0.0)
    first.take(0.0)
    with pytest.raises(Unavailable, match="another writer"):
        migrating.upgrade(url, shipped("migrations"))
    first.release()

    migrating.upgrade(url, shipped("migrations"))


def test_who_closes_last_removes_the_files(pair, tmp_path):
    first, second = pair
    first.take(0.0)
    second.close()
    assert len(list(tmp_path.iterdir())) == 2
    first.close()

    assert list(tmp_path.iterdir()) == []


def test_files_that_another_process_removed_are_not_locked_in_vain(pair, tmp_path):
    first, second = pair
    for queue in pair:
        queue.take(0.0)
        queue.release()
    first.close()
    assert list(tmp_path.iterdir()) == []

    second.take(0.0)
    with pytest.raises(Unavailable, match="another writer"):
        first.take(0.0)


def test_files_stay_while_another_process_writes(pair, tmp_path):
    first, second = pair
    first.take(0.0)
    first.release()
    second.take(0.0)
    first.close()

    assert len(list(tmp_path.iterdir())) == 2


def test_without_lock_files_writing_goes_on_with_one_warning(sqlite_jars, caplog):
    sqlite_jars.place.turnstile.close()
    sqlite_jars.place.turnstile.paths[0].mkdir()
    sqlite_jars.place.turnstile.paths[1] = sqlite_jars.place.path / "nowhere"
    for _ in range(2):
        sqlite_jars.writable()

    assert [(record.levelname, "lock files" in record.getMessage()) for record in caplog.records] == [("WARNING", True)]


def test_without_file_locks_writing_goes_on(tmp_path, monkeypatch):
    monkeypatch.setattr(turnstile, "fcntl", None)
    with closing(open_database(f"sqlite:///{tmp_path}/fleet.db", lambda link: link)) as database:
        database.claim()
        database.writable()

        assert database.place.turnstile.paths[0].exists() is False
