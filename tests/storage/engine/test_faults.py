"""Locked, full, read-only, killed: reported plainly, nothing acknowledged lost, and healed without a restart."""

import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from sqlalchemy import text

from service.domain.errors import Unavailable
from service.storage.engine import database as doors
from service.storage.engine.database import open_database
from service.storage.engine.statements import Statement
from tests.storage.conftest import itself

FILL = Statement(text("INSERT INTO jar (name, n) VALUES (:name, :n)"))
COUNT = Statement(text("SELECT count(*) FROM jar"))
NAMES = Statement(text("SELECT name FROM jar"))


def write(jars, name="a"):
    with jars.writing() as link:
        link.run(FILL, name=name, n=1)


def count(jars):
    with jars.reading() as link:
        return link.value(COUNT)


@contextmanager
def child(script: str, *arguments: object) -> Iterator[subprocess.Popen[str]]:
    """Another Python process, killed at the end."""
    command = [sys.executable, "-c", script, *map(str, arguments)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        try:
            yield process
        finally:
            process.kill()


def test_a_request_is_answered_within_two_seconds():
    assert doors.PATIENCE < 2


HOLD = """
import sqlite3, sys
holder = sqlite3.connect(sys.argv[1], isolation_level=None)
holder.execute(sys.argv[2])
print("held", flush=True)
sys.stdin.read()
"""


@contextmanager
def locked(jars, how="BEGIN IMMEDIATE"):
    jars.place.writer.patience = 0.05
    with child(HOLD, jars.place.path, how) as holder:
        assert holder.stdout.readline() == "held\n"
        yield


def test_a_lock_held_by_another_process_is_reported(sqlite_jars):
    with locked(sqlite_jars), pytest.raises(Unavailable, match="busy with another writer"):
        write(sqlite_jars)


def test_reading_goes_on_while_another_process_writes(sqlite_jars):
    with locked(sqlite_jars):
        assert count(sqlite_jars) == 0


def test_writing_heals_when_the_lock_is_gone(sqlite_jars):
    with locked(sqlite_jars), pytest.raises(Unavailable):
        write(sqlite_jars)

    write(sqlite_jars)
    assert count(sqlite_jars) == 1


def test_a_turn_is_the_only_one_in_all_processes(sqlite_jars):
    other = open_database(f"sqlite:///{sqlite_jars.place.path}", itself, patience=0.05)

    with sqlite_jars.writing(), pytest.raises(Unavailable, match="busy"):
        other.writing().__enter__()
    other.close()


def test_the_time_left_for_sqlite_is_what_the_turn_has_left(sqlite_jars):
    sqlite_jars.place.writer.patience = 0.5

    with sqlite_jars.writing() as link:
        (left,) = link.plain("PRAGMA busy_timeout").fetchone()

    assert 0 < left <= 500


def test_a_full_database_is_reported_and_heals(sqlite_jars):
    def write_much(pages):
        with sqlite_jars.writing() as link:
            link.plain(f"PRAGMA max_page_count={pages}")
            link.run_many(FILL, [{"name": "x" * 4000, "n": number} for number in range(100)])

    with pytest.raises(Unavailable, match="full"):
        write_much(pages=1)

    write_much(pages=0)  # SQLite takes no limit from this: the connection must be another
    assert count(sqlite_jars) == 100


READ_ONLY = """
import os, sys
from service.domain.errors import Unavailable
from service.storage.engine.database import Refused, open_database
from service.storage.engine.sqlite import driver
database = open_database(f"sqlite:///{sys.argv[1]}", lambda link: link)
if os.getuid() == 0:
    os.setuid(65534)  # root may write everywhere
for attempt in (database.check_start, database.writable):
    try:
        attempt()
    except (Refused, Unavailable) as error:
        print(type(error).__name__, error)
"""


@pytest.fixture
def public_folder() -> Iterator[Path]:
    """A folder that another user can enter; pytest's own are private."""
    with tempfile.TemporaryDirectory() as folder:
        yield Path(folder)
        Path(folder).chmod(0o700)


@pytest.mark.parametrize(("file_mode", "folder_mode"), [(0o444, 0o777), (0o666, 0o555)])
def test_a_file_that_cannot_be_written_is_refused_at_start_and_reported_later(public_folder, file_mode, folder_mode):
    path = public_folder / "jars.db"
    database = open_database(f"sqlite:///{path}", itself)
    database.claim()
    database.close()
    path.chmod(file_mode)
    public_folder.chmod(folder_mode)

    with child(READ_ONLY, path) as process:
        refused, result = process.stdout.read().splitlines()

    assert refused.startswith("Refused")
    assert refused.endswith("cannot be written to")
    assert result.startswith("Unavailable")


WRITE_FOR_EVER = """
import os, sys
from threading import Thread
from sqlalchemy import text
from service.storage.engine.database import open_database
from service.storage.engine.statements import Statement
fill = Statement(text("INSERT INTO jar (name, n) VALUES (:name, 1)"))
database = open_database(f"sqlite:///{sys.argv[1]}", lambda link: link)
def client(number):
    for turn in range(1_000_000):
        name = f"{sys.argv[2]}-{number}-{turn}"
        with database.writing() as link:
            link.run(fill, name=name)
        os.write(1, f"{name}\\n".encode())
for number in range(4):
    Thread(target=client, args=(number,)).start()
"""


def acknowledged_until_killed(path, life, lines):
    with child(WRITE_FOR_EVER, path, life) as process:
        names = [process.stdout.readline() for _ in range(lines)]
        process.send_signal(signal.SIGKILL)
        names += process.stdout.readlines()
    return {name.strip() for name in names if name.endswith("\n")}


def test_what_was_acknowledged_outlives_a_killed_process(sqlite_jars):
    path = sqlite_jars.place.path
    sqlite_jars.close()
    acknowledged: set[str] = set()

    for life, lines in enumerate((1, 7, 60, 300)):
        acknowledged |= acknowledged_until_killed(path, life, lines)
        restarted = open_database(f"sqlite:///{path}", itself)
        with restarted.reading() as link:
            assert acknowledged <= {name for (name,) in link.rows(NAMES)}
            assert link.plain("PRAGMA integrity_check").fetchone() == ("ok",)
        restarted.close()
