"""A log that is not that of the file beside it is refused; a file's own log never is, wherever a crash came."""

import os
import shutil
from contextlib import closing
from pathlib import Path
from random import Random

import pytest
from sqlalchemy import text

from service.storage.engine import sqlite, sqlite_log
from service.storage.engine.database import Database, Link, Refused, open_database
from service.storage.engine.statements import Statement
from tests.storage.conftest import itself

FILL = Statement(text("INSERT INTO jar (name, n) VALUES (:name, :n)"))
COUNT = Statement(text("SELECT count(*) FROM jar"))
ENDS = ("", "-wal", "-shm")


def begun(path: Path) -> Database[Link]:
    """A database of ours that is open and has a table."""
    path.parent.mkdir(exist_ok=True)
    database = open_database(f"sqlite:///{path}", itself)
    database.claim()
    with database.writing() as link:
        link.core(text("CREATE TABLE jar (name TEXT, n INTEGER)"))
    return database


def fill(database: Database[Link], times: int, size: int = 2000) -> None:
    for number in range(times):
        with database.writing() as link:
            link.run(FILL, name="x" * size, n=number)


def crashed(path: Path, to: Path, ends: tuple[str, ...] = ENDS) -> Path:
    """The files as a crash at this moment would leave them, at another place."""
    to.parent.mkdir(exist_ok=True)
    for end in ends:
        if Path(f"{path}{end}").exists():
            shutil.copy(f"{path}{end}", f"{to}{end}")
    return to


def start(path: Path) -> int:
    """Check a file as the server does at start; how many rows it then holds."""
    database = open_database(f"sqlite:///{path}", itself)
    try:
        database.check_start()
        with database.reading() as link:
            return int(link.value(COUNT))
    finally:
        database.close()


def refusal(path: Path) -> str:
    """The one line with which a file is refused; no file changes by it."""
    before = {file.name: file.read_bytes() for file in path.parent.iterdir()}
    with pytest.raises(Refused) as refused:
        start(path)
    assert {file.name: file.read_bytes() for file in path.parent.iterdir()} == before
    (line,) = str(refused.value).splitlines()
    return line


def copied(backup: Path, path: Path) -> None:
    shutil.copyfile(backup, path)  # into the same file


def moved(backup: Path, path: Path) -> None:
    os.replace(backup, path)


def removed_first(backup: Path, path: Path) -> None:
    path.unlink()
    path.with_name(path.name + "-shm").unlink(missing_ok=True)
    shutil.copy(backup, path)


@pytest.mark.parametrize("commits", [1, 30, 150, 400])
@pytest.mark.parametrize("put", [copied, moved, removed_first])
def test_a_backup_put_over_a_database_whose_log_is_left_is_refused(tmp_path, put, commits):
    """The steps of a restore by hand after a crash; without the refusal SQLite applies the log to the backup."""
    database = begun(tmp_path / "fleet.db")
    fill(database, 20)
    database.copy_to(tmp_path / "backup.db")
    fill(database, commits)
    path = crashed(tmp_path / "fleet.db", tmp_path / "after" / "fleet.db")
    database.close()
    put(tmp_path / "backup.db", path)

    assert refusal(path).startswith(f"{path}-wal is not the log of {path}: ")
    path.with_name("fleet.db-wal").rename(tmp_path / "aside")
    assert start(path) == 20


def test_the_log_of_another_database_is_refused(tmp_path):
    one, other = begun(tmp_path / "one.db"), begun(tmp_path / "other.db")
    fill(one, 5)
    fill(other, 5)
    path = crashed(tmp_path / "one.db", tmp_path / "after" / "fleet.db", ("",))
    crashed(tmp_path / "other.db", path, ("-wal",))
    one.close()
    other.close()

    assert "glycol-fleet restore" in refusal(path)


def test_a_cold_copy_beside_a_later_log_is_refused(tmp_path):
    """Made with cp while the program was stopped: of the same database, but of another time."""
    database = begun(tmp_path / "fleet.db")
    fill(database, 5)
    database.close()
    path = crashed(tmp_path / "fleet.db", tmp_path / "after" / "fleet.db")
    database = open_database(f"sqlite:///{tmp_path}/fleet.db", itself)
    fill(database, 300)
    crashed(tmp_path / "fleet.db", path, ("-wal",))
    database.close()

    assert refusal(path)


@pytest.mark.parametrize("content", [None, b""])
def test_a_log_without_its_database_is_refused(tmp_path, content):
    """SQLite would delete it, and with it what was acknowledged."""
    database = begun(tmp_path / "fleet.db")
    fill(database, 5)
    path = crashed(tmp_path / "fleet.db", tmp_path / "after" / "fleet.db", ("-wal",))
    database.close()
    if content is not None:
        path.write_bytes(content)

    assert "without its database" in refusal(path)


@pytest.mark.parametrize("seed", range(5))
def test_a_crash_at_any_moment_leaves_files_that_are_accepted(tmp_path, seed):
    """With readers that hold the log back, small and large transactions, and the end of the log torn."""
    random, database, rows = Random(seed), begun(tmp_path / "fleet.db"), 0
    for number in range(40):
        times, size = random.choice([(1, 10), (3, 3000), (30, 5000)])
        if random.random() < 0.3:
            with database.reading() as link:
                link.value(COUNT)
                fill(database, times, size)
        else:
            fill(database, times, size)
        rows += times
        path = crashed(tmp_path / "fleet.db", tmp_path / str(number) / "fleet.db", ENDS if number % 2 else ENDS[:2])
        if number % 3 == 0:
            log = path.with_name("fleet.db-wal")
            with log.open("ab") as file:
                file.write(random.randbytes(random.choice([10, 5000])))
        assert start(path) == rows
    database.close()


@pytest.mark.parametrize("cut", [1, 31, 32, 33, 60, 120, 4151, 4152, 5000, 9000])
def test_a_torn_log_is_no_foreign_log(tmp_path, cut):
    """After a power cut the first transaction of a log may be there in part; what is left from before has old salts."""
    database = begun(tmp_path / "fleet.db")
    fill(database, 3)
    database.close()
    path = crashed(tmp_path / "fleet.db", tmp_path / "after" / "fleet.db")
    database = open_database(f"sqlite:///{tmp_path}/fleet.db", itself)
    fill(database, 1)
    log = (tmp_path / "fleet.db-wal").read_bytes()
    path.with_name("fleet.db-wal").write_bytes(log[:cut] + bytes(max(0, 4152 - cut)))
    database.close()

    assert start(path) in (3, 4)


def test_a_database_from_before_counts_with_its_log_is_accepted(tmp_path, monkeypatch):
    monkeypatch.setattr(sqlite_log, "set_count", lambda *_: None)
    database = begun(tmp_path / "fleet.db")
    fill(database, 5)
    path = crashed(tmp_path / "fleet.db", tmp_path / "after" / "fleet.db")
    database.close()
    monkeypatch.undo()
    assert start(path) == 5
    reopened = open_database(f"sqlite:///{path}", itself)
    reopened.claim()
    fill(reopened, 1)

    with reopened.reading() as link:
        assert link.plain("PRAGMA user_version").fetchone()[0] & sqlite_log.MASK > sqlite_log.LOWEST
    reopened.close()


def half_written(path: Path, to: Path) -> Path:
    """A file and its journal as a crash in the middle of a large transaction leaves them."""
    to.parent.mkdir(exist_ok=True)
    with closing(sqlite.driver().connect(str(path), isolation_level=None)) as connection:
        connection.execute("PRAGMA cache_size=2")
        connection.execute("BEGIN IMMEDIATE")
        sqlite_log.count_commit(connection.execute)
        connection.execute("UPDATE jar SET name = name || 'y'")
        for end in ("", "-journal"):
            shutil.copy(f"{path}{end}", f"{to}{end}")
    return to


@pytest.fixture
def torn(tmp_path, monkeypatch) -> Path:
    """A database under a rollback journal after such a crash, and a backup of before."""
    monkeypatch.setattr(sqlite, "journal", lambda: sqlite.ROLLBACK)
    database = begun(tmp_path / "fleet.db")
    fill(database, 200)
    database.copy_to(tmp_path / "backup.db")
    database.close()
    return half_written(tmp_path / "fleet.db", tmp_path / "after" / "fleet.db")


def test_the_own_journal_of_a_crash_is_accepted(torn):
    assert start(torn) == 200
    assert not torn.with_name("fleet.db-journal").exists()


@pytest.mark.parametrize("put", [copied, moved])
def test_a_journal_left_beside_a_backup_is_refused(torn, tmp_path, put):
    put(tmp_path / "backup.db", torn)

    assert refusal(torn).startswith(f"{torn}-journal is not the log of {torn}: ")


def test_a_second_process_does_not_judge_the_log_of_a_busy_one(tmp_path, monkeypatch):
    """While it is written, the log and the file cannot be read at one moment."""
    path = tmp_path / "fleet.db"
    begun(path).close()
    serving = open_database(f"sqlite:///{path}", itself)
    serving.check_start()
    monkeypatch.setattr(sqlite_log, "check", lambda _: pytest.fail("it was checked"))

    assert start(path) == 0
    serving.close()
    assert [file.name for file in tmp_path.iterdir()] == ["fleet.db"]
