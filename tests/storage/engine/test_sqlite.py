"""Which SQLite is used, and how its connections are set up."""

import re
import shutil
import sys
from contextlib import closing
from threading import Event, Thread
from types import SimpleNamespace

import pytest
from sqlalchemy import text

from service.domain.errors import Unavailable
from service.storage.engine import sqlite
from service.storage.engine.database import Refused, open_database
from service.storage.engine.statements import Statement
from tests.storage.conftest import itself, with_jars

BOTH = Statement(text("INSERT INTO jar (name, n) VALUES ('a', 1), ('b', 1)"))
ADD_TO_BOTH = Statement(text("UPDATE jar SET n = n + 1"))


@pytest.fixture
def with_version(monkeypatch):
    """The driver in use, as if its SQLite were of another version."""
    used = sqlite.driver()

    def pretend(version):
        names = {**vars(used), "__name__": "pysqlite3.dbapi2", "sqlite_version_info": version}
        monkeypatch.setattr(sqlite, "driver", lambda: SimpleNamespace(**names))

    return pretend


@pytest.fixture
def sound(with_version):
    with_version((3, 51, 3))


@pytest.fixture
def faulty(with_version):
    with_version((3, 51, 2))


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
        fake = SimpleNamespace(__name__=name, sqlite_version_info=version, sqlite_version=number)
        monkeypatch.setitem(sys.modules, name, fake)
    return sqlite.driver.__wrapped__((*versions, "not_installed"))


@pytest.mark.parametrize(
    ("first", "second", "taken"),
    [
        ((3, 40, 1), (3, 53, 4), "second"),  # the wheel's, where the interpreter's has the fault
        ((3, 51, 3), (3, 53, 4), "first"),
        ((3, 40, 1), (3, 46, 0), "first"),  # both have it: the interpreter's, with a rollback journal
        ((3, 39, 0), (3, 46, 0), "second"),
    ],
)
def test_the_first_sound_driver_is_taken_or_else_the_first_that_is_new_enough(monkeypatch, first, second, taken):
    assert drivers(monkeypatch, first=first, second=second).__name__ == taken


def test_a_sqlite_that_is_too_old_is_refused_by_name_and_version(monkeypatch):
    with pytest.raises(Refused, match=r"old 3\.40\.0, older 3\.39\.0.*older than 3\.40\.1"):
        drivers(monkeypatch, old=(3, 40, 0), older=(3, 39, 0))


def test_without_any_driver_it_is_refused(monkeypatch):
    with pytest.raises(Refused, match=r"\(none\)"):
        drivers(monkeypatch)


def pragma(jars, door, name):
    with getattr(jars, door)() as link:
        return link.plain(f"PRAGMA {name}").fetchone()[0]


@pytest.mark.parametrize("door", ["reading", "lasting", "writing"])
@pytest.mark.parametrize(
    ("name", "value"),
    [("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1), ("wal_autocheckpoint", 100), ("mmap_size", 0)],
)
def test_every_connection_of_a_sound_sqlite_is_set_up(sound, sqlite_jars, door, name, value):
    assert pragma(sqlite_jars, door, name) == value


@pytest.mark.parametrize("door", ["reading", "lasting", "writing"])
@pytest.mark.parametrize(("name", "value"), [("journal_mode", "delete"), ("synchronous", 3), ("foreign_keys", 1)])
def test_every_connection_of_a_faulty_sqlite_has_a_rollback_journal(faulty, sqlite_jars, door, name, value):
    """EXTRA (3): in DELETE mode FULL can lose the last commit, https://www.sqlite.org/pragma.html#pragma_synchronous."""
    assert pragma(sqlite_jars, door, name) == value


@pytest.mark.parametrize(
    ("version", "said"),
    [
        ((3, 51, 3), r"SQLite [\d.]+ \(driver pysqlite3\), write-ahead log"),
        ((3, 51, 2), r"SQLite [\d.]+ \(driver pysqlite3\), rollback journal: slower.*"),
    ],
)
def test_the_operator_reads_which_driver_and_journal_are_used(with_version, tmp_path, version, said):
    with_version(version)
    database = open_database(f"sqlite:///{tmp_path}/fleet.db", itself)

    assert re.fullmatch(said, database.described())
    database.close()


def test_a_file_is_turned_to_the_journal_of_the_sqlite_in_use_and_loses_nothing(with_version, tmp_path):
    url, modes = f"sqlite:///{tmp_path}/fleet.db", []
    for number, version in enumerate([(3, 51, 3), (3, 40, 1), (3, 51, 3)]):
        with_version(version)
        database = open_database(url, itself)
        with database.writing() as link:
            link.plain("CREATE TABLE IF NOT EXISTS jar (name TEXT, n INTEGER)")
            link.plain(f"INSERT INTO jar VALUES ('a', {number})")
        with database.reading() as link:
            modes.append((link.value(Statement(text("SELECT count(*) FROM jar"))), *header(tmp_path / "fleet.db")))
        database.close()

    assert modes == [(1, 2, 2), (2, 1, 1), (3, 2, 2)]


def header(path):
    """File format write and read versions: 1 for a rollback journal, 2 for WAL, https://www.sqlite.org/fileformat2.html."""
    return tuple(path.read_bytes()[18:20])


def test_what_was_left_in_a_write_ahead_log_is_there_under_a_rollback_journal(with_version, tmp_path):
    """A process that was killed leaves its log beside the file."""
    path, crashed = tmp_path / "fleet.db", tmp_path / "crashed.db"
    with_version((3, 51, 3))
    database = open_database(f"sqlite:///{path}", itself)
    with database.writing() as link:
        link.plain("CREATE TABLE jar (name TEXT, n INTEGER)")
        link.plain("INSERT INTO jar VALUES ('a', 1)")
    for end in ("", "-wal"):
        shutil.copy(f"{path}{end}", f"{crashed}{end}")
    database.close()
    with_version((3, 51, 2))
    database = open_database(f"sqlite:///{crashed}", itself)
    with database.reading() as link:
        assert link.plain("SELECT name, n FROM jar").fetchall() == [("a", 1)]
    database.close()

    assert header(crashed) == (1, 1)
    assert not crashed.with_name("crashed.db-wal").exists()


def test_a_file_that_another_process_keeps_in_wal_is_not_turned(with_version, tmp_path):
    with_version((3, 51, 3))
    other = open_database(f"sqlite:///{tmp_path}/fleet.db", itself)
    other.claim()
    with_version((3, 51, 2))

    with pytest.raises(Unavailable, match="busy"), open_database(other.engine.url, itself, patience=0.01).reading():
        pass
    with other.writing() as link:
        assert link.plain("PRAGMA journal_mode").fetchone() == ("wal",)
    other.close()


def test_a_sqlite_that_does_not_keep_full_synchronous_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(sqlite, "COMMON", (*sqlite.COMMON, "PRAGMA synchronous=NORMAL"))

    with pytest.raises(Refused, match="power cut"):
        open_database(f"sqlite:///{tmp_path}/fleet.db", itself).claim()


def test_a_disk_that_cannot_keep_the_journal_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(sqlite, "journal", lambda: "unheard_of")

    with pytest.raises(Refused, match="keeps journal_mode=delete"):
        sqlite.connect(tmp_path / "fleet.db", patience=0.1)


def test_readers_and_writers_wait_for_each_other_under_a_rollback_journal(faulty, sqlite_jars):
    """A reader there keeps the writer from committing, and a commit the readers from reading: nobody gets an error."""
    stop, faults, read = Event(), [], []

    def work(door, times):
        try:
            for _ in range(times):
                with getattr(sqlite_jars, door)() as link:
                    if door == "writing":
                        link.run(ADD_TO_BOTH)
                    else:
                        seen = link.plain("SELECT n FROM jar").fetchall()
                        stop.wait(0.005)
                        read.append(seen == link.plain("SELECT n FROM jar").fetchall() and seen[0] == seen[1])
        except Exception as fault:
            faults.append(fault)

    with sqlite_jars.writing() as link:
        link.run(BOTH)
    threads = [Thread(target=work, args=each) for each in [("reading", 40)] * 4 + [("writing", 20)] * 4]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert faults == []
    assert read == [True] * 160
    assert pragma(sqlite_jars, "reading", "journal_mode") == "delete"
    with sqlite_jars.reading() as link:
        assert link.plain("SELECT n FROM jar").fetchall() == [(81,), (81,)]


def test_a_reading_that_lasts_holds_up_nobody_under_a_rollback_journal(faulty, tmp_path):
    database = with_jars(f"sqlite:///{tmp_path}/jars.db", patience=0.01)
    with database.lasting() as lasting:
        with database.writing() as link:
            link.run(BOTH)
        assert lasting.plain("SELECT count(*) FROM jar").fetchone() == (0,)
        with pytest.raises(Unavailable, match="only be read"):
            lasting.plain("DELETE FROM jar")
    database.close()

    assert [file.name for file in tmp_path.iterdir()] == ["jars.db"]


def test_closing_leaves_one_clean_file(tmp_path):
    database = open_database(f"sqlite:///{tmp_path}/fleet.db", itself)
    database.claim()
    with database.reading():
        pass
    database.close()

    assert [file.name for file in tmp_path.iterdir()] == ["fleet.db"]


@pytest.mark.parametrize("version", [(3, 51, 3), (3, 51, 2)], ids=["log", "rollback journal"])
def test_a_copy_made_under_writers_is_whole_and_of_one_moment(with_version, tmp_path, version):
    """Each transaction fills two jars alike; a copy of two moments would hold them apart."""
    with_version(version)
    sqlite_jars, stop = with_jars(f"sqlite:///{tmp_path}/jars.db"), Event()

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
        sqlite_jars.close()
    for n in range(5):
        with closing(sqlite.driver().connect(str(tmp_path / f"copy-{n}.db"))) as copy:
            assert copy.execute("SELECT count(DISTINCT n), count(*) FROM jar").fetchone() == (1, 2)
            assert copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_a_copy_is_not_written_over_a_file(sqlite_jars, tmp_path):
    (tmp_path / "kept.db").write_bytes(b"mine")

    with pytest.raises(Refused, match="is there already"):
        sqlite_jars.copy_to(tmp_path / "kept.db")
    assert (tmp_path / "kept.db").read_bytes() == b"mine"
