"""Whether a visit could be stored, without writing for it; and files replaced, removed or damaged while served."""

import os
import shutil
from pathlib import Path

import pytest
from sqlalchemy import text

from service.domain.errors import Unavailable
from service.storage.engine import sqlite, sqlite_start, write_outcome
from service.storage.engine.database import Database, Link, open_database
from service.storage.engine.statements import Statement

FILL = Statement(text("INSERT INTO jar (name, n) VALUES ('a', abs(random() % 1000000007))"))


def file_of(jars: Database[Link]) -> Path:
    return Path(jars.engine.url.database or "")


def log_of(jars: Database[Link]) -> Path:
    return Path(f"{file_of(jars)}-wal")


def store(jars: Database[Link]) -> None:
    with jars.writing() as link:
        link.run(FILL)


def test_a_database_that_has_just_been_written_is_storable_without_a_write(jars, monkeypatch):
    monkeypatch.setattr(type(jars.place), "write_a_little", lambda *_: pytest.fail("it was written"))
    for _ in range(100):
        jars.check_storable()


def test_after_a_minute_without_a_write_one_is_tried(jars, monkeypatch):
    tried = []
    monkeypatch.setattr(write_outcome, "monotonic", lambda: 1e9)
    monkeypatch.setattr(type(jars.place), "write_a_little", lambda *_: tried.append(1))
    for _ in range(3):
        jars.check_storable()

    assert tried == [1]


def test_a_failed_write_is_reported_and_tried_again_after_a_second(jars, monkeypatch):
    instant = 1e9
    monkeypatch.setattr(write_outcome, "monotonic", lambda: instant)
    with pytest.raises(Unavailable, match="full"), jars.writing():
        raise Unavailable("The disk is full.")
    monkeypatch.setattr(type(jars.place), "write_a_little", lambda *_: pytest.fail("it was written"))
    with pytest.raises(Unavailable, match="full"):
        jars.check_storable()
    monkeypatch.setattr(type(jars.place), "write_a_little", lambda *_: None)
    instant += 1
    jars.check_storable()


def test_an_exception_of_the_caller_says_nothing_of_the_database(jars):
    with pytest.raises(LookupError), jars.writing():
        raise LookupError
    jars.check_storable()


def replaced(path: Path) -> None:
    shutil.copy(path, f"{path}.other")
    os.replace(f"{path}.other", path)


@pytest.mark.parametrize("do", [replaced, Path.unlink])
@pytest.mark.parametrize("which", [file_of, log_of])
def test_nothing_is_acknowledged_once_the_file_was_replaced_or_removed(sqlite_jars, do, which):
    store(sqlite_jars)
    do(which(sqlite_jars))

    for _ in range(2):
        with pytest.raises(Unavailable, match="replaced or removed"):
            store(sqlite_jars)
    with pytest.raises(Unavailable, match="replaced or removed"):
        sqlite_jars.check_storable()


def test_a_file_put_in_the_place_of_one_in_use_is_not_changed(sqlite_jars, tmp_path):
    """Neither the log nor the end of the program that used the former file reaches it."""
    sqlite_jars.copy_to(tmp_path / "backup.db")
    store(sqlite_jars)
    os.replace(tmp_path / "backup.db", file_of(sqlite_jars))
    before = file_of(sqlite_jars).read_bytes()
    with pytest.raises(Unavailable):
        store(sqlite_jars)
    sqlite_jars.close()

    assert file_of(sqlite_jars).read_bytes() == before


def test_a_disk_with_too_little_room_is_reported(sqlite_jars, monkeypatch):
    monkeypatch.setattr(sqlite, "LEAST_FREE", 1 << 60)

    with pytest.raises(Unavailable, match="full"):
        sqlite_jars.check_storable()


@pytest.fixture
def large(tmp_path, monkeypatch) -> Path:
    """A closed database of ours that is too large to be looked through at start."""
    monkeypatch.setattr(sqlite_start, "QUICK_TO_CHECK", 0)
    path = tmp_path / "fleet.db"
    database = open_database(f"sqlite:///{path}", lambda link: link)
    database.claim()
    with database.writing() as link:
        link.plain("CREATE TABLE jar (name TEXT, n INTEGER)")
        link.plain("CREATE TABLE other (name TEXT)")
        for _ in range(300):
            link.plain("INSERT INTO jar VALUES (hex(randomblob(500)), 1)")
    database.close()
    return path


def test_damage_in_a_large_file_is_found_after_the_start_and_reported(large):
    with large.open("r+b") as file:
        file.seek(100_000)
        file.write(b"\xa5" * 65_536)
    database = open_database(f"sqlite:///{large}", lambda link: link)
    database.check_start()
    database.check_storable()
    with pytest.raises(Unavailable, match="damaged"):
        database.check_content(lambda: False)
    with pytest.raises(Unavailable, match="damaged; restore a backup"):
        database.check_storable()
    database.close()


def test_a_large_whole_file_is_looked_through_once_while_others_write(large, monkeypatch):
    database = open_database(f"sqlite:///{large}", lambda link: link)
    database.check_start()
    looked = []
    original = sqlite.SqliteFile._complaint

    def complaint(place: sqlite.SqliteFile, table: str) -> str:
        store(database)
        looked.append(table)
        return original(place, table)

    monkeypatch.setattr(sqlite.SqliteFile, "_complaint", complaint)
    database.check_content(lambda: False)
    database.check_content(lambda: False)

    assert looked == ["jar", "other"]
    database.close()


def test_looking_through_ends_when_the_server_stops(large, monkeypatch):
    database = open_database(f"sqlite:///{large}", lambda link: link)
    database.check_start()
    monkeypatch.setattr(sqlite.SqliteFile, "_complaint", lambda *_: pytest.fail("it went on"))
    database.check_content(lambda: True)
    database.close()
