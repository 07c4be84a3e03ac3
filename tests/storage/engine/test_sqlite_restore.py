"""Restoring: what is refused, what is kept, and every moment at which the machine may stop."""

import os
import shutil
import subprocess
import sys
from contextlib import closing
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from service.storage.engine import sqlite, sqlite_copy, sqlite_restore
from service.storage.engine.database import Database, Link, Refused, open_database
from service.storage.engine.statements import Statement
from tests.storage.conftest import itself

FILL = Statement(text("INSERT INTO jar (n) VALUES (1)"))
COUNT = Statement(text("SELECT count(*) FROM jar"))
IN_BACKUP, LATER = 3, 5


def begun(path: Path) -> Database[Link]:
    path.parent.mkdir(exist_ok=True)
    database = open_database(f"sqlite:///{path}", itself)
    database.claim()
    with database.writing() as link:
        link.plain("CREATE TABLE jar (n INTEGER)")
        link.plain("CREATE TABLE alembic_version (version_num TEXT)")
        link.plain("INSERT INTO alembic_version VALUES ('0001')")
    return database


def fill(database: Database[Link], times: int) -> None:
    for _ in range(times):
        with database.writing() as link:
            link.run(FILL)


def restore(path: Path, source: Path, stamp: str = "kept") -> Path | None:
    return sqlite_restore.restore(path, source, revisions={"0001"}, stamp=stamp, driver=sqlite.driver())


def served(path: Path) -> int:
    """Rows after a start; Refused when it must not be served."""
    database = open_database(f"sqlite:///{path}", itself)
    try:
        database.check_start()
        with database.reading() as link:
            return int(link.value(COUNT))
    finally:
        database.close()


@pytest.fixture
def backup(tmp_path: Path) -> Path:
    return tmp_path / "backup.db"


@pytest.fixture
def crashed(tmp_path: Path, backup: Path) -> Path:
    """A database as kill -9 leaves it: its last transactions are in the log alone."""
    database = begun(tmp_path / "live" / "fleet.db")
    fill(database, IN_BACKUP)
    database.copy_to(backup)
    fill(database, LATER - IN_BACKUP)
    path = tmp_path / "home" / "fleet.db"
    path.parent.mkdir()
    for end in ("", "-wal", "-shm"):
        shutil.copy(f"{database.engine.url.database}{end}", f"{path}{end}")
    database.close()
    return path


def test_the_backup_is_served_and_the_former_database_is_kept_with_its_log(crashed, backup):
    kept = restore(crashed, backup)

    assert served(crashed) == IN_BACKUP
    assert kept is not None
    assert served(kept) == LATER
    assert sorted(file.name for file in crashed.parent.iterdir()) == ["fleet.db", "fleet.db.kept"]


def test_what_was_set_aside_can_be_restored_with_its_log(crashed, backup):
    kept = restore(crashed, backup)
    assert kept is not None
    restore(crashed, kept, stamp="again")

    assert served(crashed) == LATER
    assert Path(f"{kept}-wal").stat().st_size > 0


def test_without_a_present_database_the_backup_is_put_in_place(tmp_path, backup, crashed):
    assert restore(tmp_path / "fleet.db", backup) is None
    assert served(tmp_path / "fleet.db") == IN_BACKUP


def test_a_foreign_log_is_set_aside_too(crashed, backup):
    """What the refusal of a foreign log asks the operator to do."""
    shutil.copyfile(backup, crashed)
    with pytest.raises(Refused, match="restore"):
        served(crashed)
    restore(crashed, backup)

    assert served(crashed) == IN_BACKUP
    assert Path(f"{crashed}.kept-wal").exists()


def damaged(backup: Path) -> None:
    with backup.open("r+b") as file:
        file.seek(4096 + 8)
        file.write(b"\xa5" * 4000)


def execute(backup: Path, sql: str) -> None:
    with closing(sqlite.driver().connect(str(backup), isolation_level=None)) as connection:
        connection.execute(sql)


SPOILED: dict[str, Any] = {
    "damaged": damaged,
    "not a SQLite database": lambda backup: backup.write_text("visits"),
    "there is no file": lambda backup: backup.unlink(),
    "another program": lambda backup: execute(backup, "PRAGMA application_id=7"),
    "schema 0099": lambda backup: execute(backup, "UPDATE alembic_version SET version_num = '0099'"),
    "schema nothing": lambda backup: execute(backup, "DELETE FROM alembic_version"),
    "no such table": lambda backup: execute(backup, "DROP TABLE alembic_version"),
}


@pytest.mark.parametrize("reason", SPOILED)
def test_a_backup_that_cannot_be_served_is_refused_and_nothing_changes(crashed, backup, reason):
    SPOILED[reason](backup)
    before = {file.name: file.read_bytes() for file in crashed.parent.iterdir()}
    with pytest.raises(Refused, match=reason):
        restore(crashed, backup)

    assert {file.name: file.read_bytes() for file in crashed.parent.iterdir()} == before


HOLD = """
import sys
from pathlib import Path
from contextlib import closing
from service.storage.engine.database import open_database
how, path = sys.argv[1:]
if how == "ours":
    database = open_database(f"sqlite:///{path}", lambda link: link)
    database.check_start()
else:
    import sqlite3
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA journal_mode=WAL")
    connection.execute("BEGIN")
    connection.execute("SELECT count(*) FROM jar").fetchone()
print("held", flush=True)
sys.stdin.read()
"""


@pytest.mark.parametrize(("how", "who"), [("ours", "stop the server"), ("theirs", "another program")])
def test_a_database_in_use_is_not_replaced(crashed, backup, how, who):
    served(crashed)
    command = [sys.executable, "-c", HOLD, how, str(crashed)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == b"held\n"
        with pytest.raises(Refused, match=who):
            restore(crashed, backup)
        holder.kill()
    restore(crashed, backup)

    assert served(crashed) == IN_BACKUP


# --- stopped at every step -------------------------------------------------------------------------------------------

KILLED = """
import os, sys
from pathlib import Path
from service.storage.engine import sqlite, sqlite_restore
path, source, after = sys.argv[1:]
calls = 0
def counting(name):
    original = getattr(os, name)
    def call(*args, **kwargs):
        global calls
        calls += 1
        if calls == int(after):
            os._exit(9)
        return original(*args, **kwargs)
    setattr(os, name, call)
for name in ("open", "close", "fsync", "replace", "unlink"):
    counting(name)
sqlite_restore.restore(Path(path), Path(source), revisions={"0001"}, stamp="kept", driver=sqlite.driver())
"""


def test_killed_at_any_step_it_is_the_old_or_the_new_database_or_can_be_restored_again(crashed, backup, tmp_path):
    outcomes = []
    for step in range(1, 200):
        home = tmp_path / f"killed-{step}"
        shutil.copytree(crashed.parent, home)
        done = subprocess.run([sys.executable, "-c", KILLED, home / "fleet.db", backup, str(step)], check=False)
        outcomes.append(judged(home / "fleet.db", backup))
        if done.returncode == 0:
            break
        assert done.returncode == 9

    assert {"old", "refused", "new"} == set(outcomes)
    assert outcomes == sorted(outcomes, key=["old", "refused", "new"].index)


def judged(path: Path, backup: Path) -> str:
    """What is served after a stop; then it is restored again, and everything acknowledged is still there."""
    try:
        found = {IN_BACKUP: "new", LATER: "old"}[served(path)]
    except Refused:
        found = "refused"
    restore(path, backup, stamp="again")
    assert served(path) == IN_BACKUP
    kept = [file for file in path.parent.iterdir() if file.name in ("fleet.db.kept", "fleet.db.again")]
    assert max(served(file) for file in kept) == LATER
    return found


def test_a_power_cut_that_loses_names_not_yet_on_the_disk_loses_no_visit(crashed, backup, tmp_path, monkeypatch):
    """Renames since the last sync of the folder may each be lost, in any combination (no order is promised)."""
    steps: list[tuple[str, ...]] = []
    replace, unlink, sync = os.replace, os.unlink, sqlite_copy.sync
    original = shutil.copytree(crashed.parent, tmp_path / "original")
    monkeypatch.setattr(os, "replace", lambda *names: (steps.append(("replace", *map(name, names))), replace(*names)))
    monkeypatch.setattr(os, "unlink", lambda path: (steps.append(("unlink", name(path))), unlink(path)))
    monkeypatch.setattr(sqlite_copy, "sync", lambda path: (steps.append(("sync", name(path))), sync(path)))
    restore(crashed, backup)
    monkeypatch.undo()
    steps = [step for step in steps if step[0] != "unlink" or step[1] == "fleet.db-restoring"]
    assert steps[-2:] == [("unlink", "fleet.db-restoring"), ("sync", "home")]

    for number, states in enumerate(power_cuts(steps)):
        home = shutil.copytree(original, tmp_path / f"cut-{number}")
        shutil.copy(backup, home / ".fleet.db.restoring")
        (home / "fleet.db-restoring").write_text("kept")
        for kind, *names in states:
            if kind == "replace" and (home / names[0]).exists():
                os.replace(home / names[0], home / names[1])
            elif kind == "unlink":
                (home / names[0]).unlink(missing_ok=True)
        judged(home / "fleet.db", backup)


def name(path: object) -> str:
    return Path(str(path)).name


def power_cuts(steps: list[tuple[str, ...]]) -> list[list[tuple[str, ...]]]:
    """What may be on the disk: all up to a sync of the folder, and any of the changes after it up to the next."""
    found, certain, open_ones = [], [], []  # type: ignore[var-annotated]
    for step in steps:
        if step == ("sync", "home"):
            for size in range(len(open_ones) + 1):
                found += [certain + list(some) for some in combinations(open_ones, size)]
            certain, open_ones = certain + open_ones, []
        elif step[0] != "sync":
            open_ones.append(step)
    return [*found, certain]
