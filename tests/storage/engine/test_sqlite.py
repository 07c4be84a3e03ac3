"""Which SQLite is used, and how its connections are set up."""

import sys
from contextlib import closing
from threading import Event, Thread
from types import SimpleNamespace

import pytest
from sqlalchemy import text

from service.storage.engine import sqlite
from service.storage.engine.database import Refused, open_database
from service.storage.engine.statements import Statement

BOTH = Statement(text("INSERT INTO jar (name, n) VALUES ('a', 1), ('b', 1)"))
ADD_TO_BOTH = Statement(text("UPDATE jar SET n = n + 1"))


def itself(link):
    return link


@pytest.mark.parametrize(
    ("version", "sound"),  # https://www.sqlite.org/changes.html, 3.51.3, 3.50.7 and 3.44.6
    [
        ((3, 40, 1), False), ((3, 44, 5), False), ((3, 44, 6), True), ((3, 45, 0), False), ((3, 50, 6), False),
        ((3, 50, 7), True), ((3, 51, 0), False), ((3, 51, 2), False), ((3, 51, 3), True), ((3, 53, 4), True),
    ],
)  # fmt: skip
def test_a_sqlite_with_the_wal_reset_fault_is_known_by_its_version(version, sound):
    assert sqlite.is_sound(version) is sound


def drivers(monkeypatch, **versions):
    for name, version in versions.items():
        number = ".".join(map(str, version))
        monkeypatch.setitem(sys.modules, name, SimpleNamespace(sqlite_version_info=version, sqlite_version=number))
    return sqlite.driver.__wrapped__((*versions, "not_installed"))


def test_the_first_sound_driver_is_taken(monkeypatch):
    assert drivers(monkeypatch, old=(3, 40, 1), new=(3, 53, 4)).sqlite_version == "3.53.4"


def test_no_sound_driver_is_refused_by_name_and_version(monkeypatch):
    with pytest.raises(Refused, match=r"old 3\.40\.1, older 3\.39\.0"):
        drivers(monkeypatch, old=(3, 40, 1), older=(3, 39, 0))


def test_the_driver_in_use_is_sound(sqlite_jars):
    with sqlite_jars.reading() as link:
        (version,) = link.plain("SELECT sqlite_version()").fetchone()

    assert sqlite.is_sound(tuple(map(int, version.split("."))))


@pytest.mark.parametrize("door", ["reading", "writing"])
@pytest.mark.parametrize(
    ("pragma", "value"),
    [("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1), ("wal_autocheckpoint", 100), ("mmap_size", 0)],
)
def test_every_connection_is_set_up(sqlite_jars, door, pragma, value):
    with getattr(sqlite_jars, door)() as link:
        assert link.plain(f"PRAGMA {pragma}").fetchone() == (value,)


def test_a_sqlite_that_does_not_keep_full_synchronous_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(sqlite, "SET_UP", (*sqlite.SET_UP, "PRAGMA synchronous=NORMAL"))

    with pytest.raises(Refused, match="power cut"):
        open_database(f"sqlite:///{tmp_path}/fleet.db", itself).claim()


def test_closing_leaves_one_clean_file(tmp_path):
    database = open_database(f"sqlite:///{tmp_path}/fleet.db", itself)
    database.claim()
    with database.reading():
        pass
    database.close()

    assert [file.name for file in tmp_path.iterdir()] == ["fleet.db"]


def test_a_copy_made_under_writers_is_whole_and_of_one_moment(sqlite_jars, tmp_path):
    """Each transaction fills two jars alike; a copy of two moments would hold them apart."""
    stop = Event()

    def fill():
        while not stop.is_set():
            with sqlite_jars.writing() as link:
                link.run(ADD_TO_BOTH)

    with sqlite_jars.writing() as link:
        link.run(BOTH)
    writer = Thread(target=fill)
    writer.start()
    try:
        for n in range(5):
            sqlite_jars.copy_to(tmp_path / f"copy-{n}.db")
    finally:
        stop.set()
        writer.join()
    for n in range(5):
        with closing(sqlite.driver().connect(str(tmp_path / f"copy-{n}.db"))) as copy:
            assert copy.execute("SELECT count(DISTINCT n), count(*) FROM jar").fetchone() == (1, 2)
            assert copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_copy_is_not_written_over_a_file(sqlite_jars, tmp_path):
    (tmp_path / "kept.db").write_bytes(b"mine")

    with pytest.raises(Refused, match="is there already"):
        sqlite_jars.copy_to(tmp_path / "kept.db")
    assert (tmp_path / "kept.db").read_bytes() == b"mine"
