"""What SQLite files are refused before they are served."""

import os
import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import text

from service.domain.errors import Unavailable
from service.storage.engine import sqlite_start
from service.storage.engine.database import Refused, open_database
from service.storage.engine.statements import Statement
from tests.storage.conftest import itself

FILL = Statement(text("INSERT INTO jar (name, n) VALUES (:name, :n)"))
NAMES = Statement(text("SELECT name FROM jar"))


@pytest.fixture
def path(tmp_path) -> Path:
    """A closed database of ours with 200 kB in it."""
    path = tmp_path / "fleet.db"
    database = open_database(f"sqlite:///{path}", itself)
    database.claim()
    with database.writing() as link:
        link.core(text("CREATE TABLE jar (name TEXT, n INTEGER)"))
        link.run_many(FILL, [{"name": "x" * 1000, "n": number} for number in range(200)])
    database.close()
    return path


def refusal(path) -> str:
    database = open_database(f"sqlite:///{path}", itself)
    with pytest.raises(Refused) as refused:
        database.check_start()
    return str(refused.value)


def damage(path, at, size):
    with path.open("r+b") as file:
        file.seek(at)
        file.write(b"\xa5" * size)


def test_a_whole_file_of_ours_may_start(path):
    open_database(f"sqlite:///{path}", itself).check_start()


def test_damaged_pages_are_refused(path):
    damage(path, at=50_000, size=65_536)

    assert refusal(path).startswith(f"{path} is damaged (")


def test_a_damaged_header_is_refused(path):
    damage(path, at=0, size=100)

    assert refusal(path) == f"{path} is not a SQLite database"


def test_a_cut_file_is_refused(path):
    os.truncate(path, 8192)

    assert "damaged" in refusal(path) or "malformed" in refusal(path)


def test_every_refusal_is_one_line(path):
    damage(path, at=4096, size=65_536)

    assert len(refusal(path).splitlines()) == 1


def test_a_large_file_is_checked_after_an_unclean_stop(path, monkeypatch):
    monkeypatch.setattr(sqlite_start, "QUICK_TO_CHECK", 0)
    damage(path, at=50_000, size=65_536)
    open_database(f"sqlite:///{path}", itself).check_start()

    path.with_name("fleet.db-wal").write_bytes(b"left behind")

    assert "damaged" in refusal(path)


def test_a_text_file_is_refused(tmp_path):
    (tmp_path / "notes.db").write_text("bring a new contactor")

    assert refusal(tmp_path / "notes.db") == f"{tmp_path}/notes.db is not a SQLite database"


@pytest.mark.parametrize("mark", ["PRAGMA application_id=42", "CREATE TABLE theirs (n)"])
def test_a_file_of_another_program_is_refused_and_left_as_it_was(tmp_path, mark):
    theirs = tmp_path / "theirs.db"
    other = sqlite3.connect(theirs)
    other.execute(mark)
    other.close()
    before = theirs.read_bytes()

    assert "belongs to another program" in refusal(theirs)
    assert theirs.read_bytes() == before


def test_a_file_of_another_program_is_not_claimed(tmp_path):
    theirs = tmp_path / "theirs.db"
    other = sqlite3.connect(theirs)
    other.execute("CREATE TABLE theirs (n)")
    other.close()

    with pytest.raises(Refused, match="another program"):
        open_database(f"sqlite:///{theirs}", itself).claim()


def test_a_claimed_file_carries_our_mark(path):
    assert path.read_bytes()[68:72] == b"GLYC"  # the header's field for it: https://www.sqlite.org/fileformat.html


def test_a_symbolic_link_is_refused(path, tmp_path):
    (tmp_path / "link.db").symlink_to(path)

    assert "symbolic link" in refusal(tmp_path / "link.db")


def test_a_second_name_is_refused(path, tmp_path):
    (tmp_path / "link.db").hardlink_to(path)

    assert "hard link" in refusal(path)


def test_a_missing_folder_is_refused(tmp_path):
    assert "no folder" in refusal(tmp_path / "none" / "fleet.db")


def test_damage_met_later_is_reported(path):
    damage(path, at=50_000, size=65_536)
    database = open_database(f"sqlite:///{path}", itself)

    with pytest.raises(Unavailable, match="damaged"), database.reading() as link:
        link.rows(NAMES)
