"""What is looked at before a SQLite file is served: its place, whose it is, and whether it is whole."""

import os
from contextlib import closing, suppress
from pathlib import Path
from typing import Any
from urllib.parse import quote

from service.storage.engine import sqlite_log
from service.storage.engine.faults import Refused

APPLICATION_ID = 0x474C5943  # "GLYC"
HEADER = b"SQLite format 3\x00"
QUICK_TO_CHECK = 32 * 1024 * 1024  # [B], about half a second


def check(path: Path, driver: Any) -> bool:
    """Refuse with one line what must not be served; whether all of it was looked through for damage.

    A file that is not there yet, or is empty, passes.
    """
    if not path.exists() or path.stat().st_size == 0:
        return True
    check_header(path, path)
    unclean = _size(path.with_name(path.name + "-wal")) > 0
    whole = unclean or _size(path) < QUICK_TO_CHECK
    _check_content(path, driver, whole=whole)
    return whole


def check_header(path: Path, named: Path) -> None:
    """Refuse what is not a SQLite file, under the name by which the operator knows it."""
    with path.open("rb") as file:
        if file.read(len(HEADER)) != HEADER:
            raise Refused(f"{named} is not a SQLite database")


def check_owner(path: Path, execute: Any) -> None:
    """Refuse a database that was not marked as ours."""
    owner, tables = _owner(execute)
    if owner != APPLICATION_ID:
        _refuse_foreign(path, owner, tables)
        raise Refused(f"{path} is empty")


def claim(path: Path, driver: Any) -> None:
    """Mark an empty file as ours and give it a count of its own; Refused when it is another program's."""
    with closing(driver.connect(str(path), isolation_level=None, timeout=1.0)) as connection:
        owner, tables = _owner(connection.execute)
        if owner != APPLICATION_ID:
            _refuse_foreign(path, owner, tables)
            connection.execute(f"PRAGMA application_id={APPLICATION_ID}")
        with suppress(driver.OperationalError):  # in use: the check of logs is weaker until it is migrated alone
            sqlite_log.give_random_count(connection.execute)


def check_place(path: Path) -> None:
    """Refuse a place where the file cannot be kept."""
    check_folder(path)
    if path.is_file() and path.stat().st_nlink > 1:
        raise Refused(f"{path} has a second name (a hard link); SQLite would keep two logs for one file")
    if path.exists() and not (path.is_file() and os.access(path, os.R_OK | os.W_OK)):
        raise Refused(f"{path} cannot be written to")


def check_folder(path: Path) -> None:
    """Refuse a folder in which no file can be kept, and a name that is a link."""
    folder = path.parent
    if not folder.is_dir():
        raise Refused(f"there is no folder {folder} for the database")
    if path.is_symlink():
        raise Refused(f"{path} is a symbolic link; name the file itself")
    if not os.access(folder, os.W_OK | os.X_OK):
        raise Refused(f"the folder {folder} cannot be written to")


def _check_content(path: Path, driver: Any, *, whole: bool) -> None:
    # not with our usual settings: those would turn another program's file to WAL before we know that it is not ours
    try:
        connection = driver.connect(f"file:{quote(str(path))}?mode=rw", uri=True, isolation_level=None, timeout=1.0)
        try:
            owner, tables = _owner(connection.execute)
            if owner != APPLICATION_ID:
                _refuse_foreign(path, owner, tables)
            complaint = connection.execute("PRAGMA quick_check(1)").fetchone()[0] if whole else "ok"
        finally:
            connection.close()
    except driver.Error as error:
        raise Refused(f"{path} cannot be used: {error}") from error
    if complaint != "ok":
        raise Refused(f"{path} is damaged ({' '.join(complaint.split())}); restore a backup")


def _owner(execute: Any) -> tuple[int, int]:
    (owner,) = execute("PRAGMA application_id").fetchone()
    (tables,) = execute("SELECT count(*) FROM sqlite_master").fetchone()
    return owner, tables


def _refuse_foreign(path: Path, owner: int, tables: int) -> None:
    if owner or tables:
        raise Refused(f"{path} belongs to another program (application_id {owner:#x}, {tables} tables)")


def _size(path: Path) -> int:
    return path.stat().st_size if path.exists() else 0
