"""Put a backup in the place of a database: the present one is set aside, and a crash at any step loses neither.

While names are changed, a mark lies beside the database: whoever finds it must not serve, and the next restore goes on
with the same name for what is set aside, so that file and log stay together.
"""

import os
import shutil
from collections.abc import Container, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from service.storage.engine import sqlite_copy, sqlite_log, sqlite_start
from service.storage.engine.faults import Refused
from service.storage.engine.sqlite_use import Use

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

LOGS = ("-wal", "-shm", "-journal")
LOCK_BYTES = (510, 0x40000002)  # how many and where: every reader locks one of them, "shared bytes" in os.h of SQLite


def check_ended(path: Path) -> None:
    """Refuse a database of which a restore was interrupted."""
    if _mark(path).exists():
        raise Refused(f"a restore of {path} was interrupted: run glycol-fleet restore FILE again")


def restore(path: Path, source: Path, *, revisions: Container[str], stamp: str, driver: Any) -> Path | None:
    """Put a checked copy of `source` at `path`; where the present database is kept, None when there was none."""
    sqlite_start.check_folder(path)
    if not source.is_file():
        raise Refused(f"there is no file {source}")
    if path.exists() and path.samefile(source):
        raise Refused(f"{source} is the present database")
    use, part = Use(path), path.with_name(f".{path.name}.restoring")
    use.claim()
    try:
        with _locked(path):
            _copy(source, part)
            _check(part, source, revisions, driver)
            return _swap(path, part, stamp)
    finally:
        _remove(part)
        use.leave()


def _mark(path: Path) -> Path:
    return path.with_name(f"{path.name}-restoring")


@contextmanager
def _locked(path: Path) -> Iterator[None]:
    """Hold SQLite's own lock, so that no other program has the file open."""
    if fcntl is None or not path.is_file():
        yield
        return
    with path.open("r+b") as file:
        try:
            fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB, *LOCK_BYTES)
        except (BlockingIOError, PermissionError) as error:
            raise Refused(f"{path} is in use by another program: close it first") from error
        yield


def _copy(source: Path, part: Path) -> None:
    """Copy a file with its log: what is not the only one of its kind is worked on."""
    _remove(part)
    sqlite_log.check(source)
    for end in ("", "-wal", "-journal"):
        if Path(f"{source}{end}").is_file():
            to = f"{part}{end}"
            os.close(os.open(to, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
            shutil.copyfile(f"{source}{end}", to)


def _check(part: Path, source: Path, revisions: Container[str], driver: Any) -> None:
    """Refuse a copy that is not ours, damaged, or of a schema unknown here; make it one file on the disk."""
    sqlite_start.check_header(part, source)
    try:
        with closing(driver.connect(str(part), isolation_level=None)) as copy:
            sqlite_start.check_owner(source, copy.execute)
            sqlite_copy.finish(copy, str(source))
            found = copy.execute("SELECT version_num FROM alembic_version").fetchall()
    except driver.Error as error:
        raise Refused(f"{source} cannot be restored: {error}") from error
    if len(found) != 1 or found[0][0] not in revisions:
        names = ", ".join(str(name) for (name,) in found) or "nothing"
        raise Refused(f"{source} has the schema {names}, which this program does not know; is the program too old?")
    sqlite_copy.sync(part)


def _swap(path: Path, part: Path, stamp: str) -> Path | None:
    """Set the present files aside and put the copy in their place; see the module for what a crash leaves."""
    kept = path.with_name(f"{path.name}.{_begin(path, stamp)}")
    for end in (*LOGS, ""):
        present, aside = Path(f"{path}{end}"), Path(f"{kept}{end}")
        if present.exists() and not aside.exists():
            os.replace(present, aside)
    sqlite_copy.sync(path.parent)
    os.replace(part, path)
    sqlite_copy.sync(path.parent)
    os.unlink(_mark(path))
    sqlite_copy.sync(path.parent)
    return kept if kept.exists() else None


def _begin(path: Path, stamp: str) -> str:
    """Lay down the mark; the end of the names of what is kept, that of an interrupted restore if there is one."""
    mark = _mark(path)
    former = mark.read_text().strip() if mark.exists() else ""
    if former:
        return former
    mark.write_text(stamp)
    sqlite_copy.sync(mark)
    sqlite_copy.sync(path.parent)
    return stamp


def _remove(part: Path) -> None:
    for end in ("", *LOGS):
        Path(f"{part}{end}").unlink(missing_ok=True)
