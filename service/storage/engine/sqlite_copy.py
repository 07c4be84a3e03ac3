"""A copy of a SQLite file that is whole, checked and on the disk before it has its name."""

import os
from contextlib import closing
from pathlib import Path
from typing import Any

from service.storage.engine import sqlite_log
from service.storage.engine.faults import Refused


def write_copy(original: Any, target: Path, driver: Any) -> None:
    """Write what a connection sees to a new file; Refused when that is damaged.

    SQLite's own backup: a copy of the file by other means can miss what is still in the log.
    """
    part = target.with_name(f".{target.name}.part")
    part.unlink(missing_ok=True)
    try:
        os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        with closing(driver.connect(str(part), isolation_level=None)) as copy:
            original.backup(copy)  # in one step: in parts it would begin anew with every write
            finish(copy, "the database")
        sync(part)
        part.replace(target)
        sync(target.parent)
    finally:
        part.unlink(missing_ok=True)


def finish(copy: Any, name: str) -> None:
    """Make a copy one file with a count of its own; Refused when its content is damaged."""
    copy.execute("PRAGMA journal_mode=DELETE")
    complaints = [*copy.execute("PRAGMA integrity_check(1)"), *copy.execute("PRAGMA foreign_key_check")]
    if complaints[0] != ("ok",) or len(complaints) > 1:
        found = " ".join(str(complaints[-1]).split())
        raise Refused(f"{name} is damaged ({found}); the copy was not kept")
    sqlite_log.set_count(copy.execute, sqlite_log.random_count())


def sync(path: Path) -> None:
    """Wait until a file, or the names in a folder, are on the disk."""
    if os.name == "nt" and path.is_dir():
        return
    file = os.open(path, os.O_RDWR if os.name == "nt" else os.O_RDONLY)
    try:
        os.fsync(file)
    finally:
        os.close(file)
