"""Restore a backup, and what the database that was set aside holds beyond it."""

from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import make_url

from service.storage.backups import PHOTOS
from service.storage.engine import sqlite, sqlite_log, sqlite_restore
from service.storage.engine.database import open_engine
from service.storage.engine.faults import Refused
from service.storage.photo_files import PhotoFiles, beside
from service.storage.revision import revisions

KINDS = (("visit", "uuid"), ("unit", "tag"), ("site", "code"), ("customer", "code"), ("technician", "code"),
         ("token", "id"))  # fmt: skip
INSTANTS = (("visit", "posted_at"), ("audit", "at"))


@dataclass(frozen=True, slots=True)
class Newer:
    """What the former database holds that the backup does not: by kind, and the last instants recorded in both."""

    counts: dict[str, int]
    last: dict[str, tuple[str | None, str | None]]  # of visits and audit entries: former database, backup


@dataclass(frozen=True, slots=True)
class Restored:
    """Where the former database is kept, None when there was none; what is newer in it, or why that is not known."""

    path: Path
    kept: Path | None
    newer: Newer | None
    unreadable: str | None
    photos: int  # copied
    lost: list[str]  # photos that are neither there nor in the backup


def restore(url: str, source: Path, folder: Path, *, photos: Path, stamp: str) -> Restored:
    """Put a backup in the place of the database at `url`; Refused, with nothing changed, when it must not be."""
    if open_engine(url).dialect.name != "sqlite":
        raise Refused("a PostgreSQL database is restored with its own pg_restore")
    path = Path(make_url(url).database or "").absolute()
    unreadable = _why_unreadable(path)
    kept = sqlite_restore.restore(
        path, source.absolute(), revisions=revisions(folder), stamp=f"before-{stamp}", driver=sqlite.driver()
    )
    copied, lost = _restore_photos(path, source.absolute(), PhotoFiles(photos))
    if kept is None or unreadable:
        return Restored(path, kept, None, unreadable, copied, lost)
    try:
        return Restored(path, kept, compare(kept, path), None, copied, lost)
    except (sqlite.driver().Error, Refused) as error:
        return Restored(path, kept, None, str(error), copied, lost)


def _restore_photos(path: Path, source: Path, photos: PhotoFiles) -> tuple[int, list[str]]:
    """Copy the photos of a restored database from beside its backup; how many, and which are nowhere."""
    own = beside(source)
    kept = PhotoFiles(own if own.is_dir() else source.with_name(PHOTOS))
    with closing(sqlite.driver().connect(f"file:{quote(str(path))}?immutable=1", uri=True)) as connection:
        if "photo" not in _tables(connection.execute, "main"):
            return 0, []
        names = [name for (name,) in connection.execute("SELECT DISTINCT sha256 FROM photo ORDER BY sha256")]
    return photos.add_from(kept, names, whole=True)


def _why_unreadable(path: Path) -> str | None:
    try:
        sqlite_log.check(path)
    except Refused:
        return "the log beside it is not its own"
    except OSError as error:
        return str(error)
    return None


def compare(former: Path, backup: Path) -> Newer:
    """Compare two databases without a change to either."""
    log = former.with_name(f"{former.name}-wal")
    way = "mode=ro" if log.exists() else "immutable=1"  # without a log, none is begun beside it
    with closing(sqlite.driver().connect(f"file:{quote(str(former))}?{way}", uri=True)) as connection:
        connection.execute("ATTACH ? AS backup", (f"file:{quote(str(backup))}?mode=ro",))
        known = [_tables(connection.execute, place) for place in ("main", "backup")]
        both = known[0] & known[1]
        return Newer(
            {kind: _beyond(connection.execute, kind, key) for kind, key in KINDS if kind in both},
            {kind: _last(connection.execute, kind, column) for kind, column in INSTANTS if kind in both},
        )


def _tables(execute: Callable[[str], Any], place: str) -> set[str]:
    return {name for (name,) in execute(f"SELECT name FROM {place}.sqlite_master WHERE type = 'table'")}


def _beyond(execute: Callable[[str], Any], kind: str, key: str) -> int:
    query = f"SELECT count(*) FROM main.{kind} WHERE {key} NOT IN (SELECT {key} FROM backup.{kind})"
    (count,) = execute(query).fetchone()
    return int(count)


def _last(execute: Callable[[str], Any], kind: str, column: str) -> tuple[str | None, str | None]:
    found = [execute(f"SELECT max({column}) FROM {place}.{kind}").fetchone()[0] for place in ("main", "backup")]
    return found[0], found[1]
