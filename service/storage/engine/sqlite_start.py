"""What is looked at before a SQLite file is served: its place, whose it is, and whether it is whole."""

import os
from pathlib import Path
from typing import Any
from urllib.parse import quote

from service.storage.engine.faults import Refused
from service.storage.engine.link import Link

APPLICATION_ID = 0x474C5943  # "GLYC"
HEADER = b"SQLite format 3\x00"
QUICK_TO_CHECK = 32 * 1024 * 1024  # [B], about half a second


def check(path: Path, driver: Any) -> None:
    """Refuse with one line what must not be served; a file that is not there yet, or is empty, passes."""
    _check_place(path)
    if not path.exists() or path.stat().st_size == 0:
        return
    with path.open("rb") as file:
        if file.read(len(HEADER)) != HEADER:
            raise Refused(f"{path} is not a SQLite database")
    unclean = _size(path.with_name(path.name + "-wal")) > 0
    _check_content(path, driver, whole=unclean or _size(path) < QUICK_TO_CHECK)


def claim(path: Path, link: Link) -> None:
    """Mark an empty file as ours, inside a writing transaction."""
    owner, tables = _owner(link.plain)
    if owner != APPLICATION_ID:
        _refuse_foreign(path, owner, tables)
        link.plain(f"PRAGMA application_id={APPLICATION_ID}")


def _check_place(path: Path) -> None:
    folder = path.parent
    if not folder.is_dir():
        raise Refused(f"there is no folder {folder} for the database")
    if path.is_symlink():
        raise Refused(f"{path} is a symbolic link; name the file itself")
    if path.is_file() and path.stat().st_nlink > 1:
        raise Refused(f"{path} has a second name (a hard link); SQLite would keep two logs for one file")
    if not os.access(folder, os.W_OK | os.X_OK):
        raise Refused(f"the folder {folder} cannot be written to")
    if path.exists() and not (path.is_file() and os.access(path, os.R_OK | os.W_OK)):
        raise Refused(f"{path} cannot be written to")


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
