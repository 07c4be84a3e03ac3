"""Dated backups in a folder: a new one first, whole and checked, then the oldest are removed."""

import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from service.storage.engine.database import Database
from service.storage.engine.faults import Refused
from service.storage.photo_files import PhotoFiles, beside
from service.storage.store import Store

NAME = re.compile(r"glycol-fleet-([0-9]{4}-[0-9]{2}-[0-9]{2})T[0-9]{6}Z\.sqlite3")
PHOTOS = "glycol-fleet-photos"  # of all backups in a folder: what is there is not copied again
STALE = timedelta(days=1)  # of a part: whoever wrote it was stopped


def stamp(now: datetime) -> str:
    """An instant in a file's name, "2026-03-14T101500Z"."""
    return now.astimezone(UTC).strftime("%Y-%m-%dT%H%M%SZ")


def back_up(database: Database[Store], folder: Path, keep: int | None, now: datetime) -> Path:
    """Write a backup of this instant, then remove the oldest beyond `keep`; when it fails, none is removed.

    Photos that are missing or damaged are reported at the end, once the backup of the database is in its place.
    """
    if not folder.is_dir():
        raise Refused(f"there is no folder {folder} for backups")
    target = folder / f"glycol-fleet-{stamp(now)}.sqlite3"
    database.copy_to(target)
    _remove_stale_parts(folder, now)
    if keep is not None:
        for path in _dated(folder)[:-keep]:
            if path != target:
                path.unlink(missing_ok=True)
    copy_photos(database, folder / PHOTOS)
    return target


def copy_to(database: Database[Store], target: Path) -> None:
    """Copy the database to a new file, and its photos into the folder that belongs to that."""
    database.copy_to(target)
    copy_photos(database, beside(target))


def copy_photos(database: Database[Store], folder: Path) -> None:
    """Copy the photos that a folder does not hold yet; Refused, once all others are there, when some cannot be had."""
    with database.reading() as store:
        if not (names := store.photos.names()):
            return
        files = store.photo_files
    _, lost = PhotoFiles(folder).add_from(files, names)
    if lost:
        raise Refused(
            f"photos missing or damaged in {files.folder}: {len(lost)}, among them {lost[0]}.jpg; the rest is backed up"
        )


def last_day(folder: Path) -> date | None:
    """The day in UTC of the newest backup in a folder."""
    found = [NAME.fullmatch(path.name) for path in _dated(folder)]
    return date.fromisoformat(found[-1][1]) if found and found[-1] else None


def _dated(folder: Path) -> list[Path]:
    """The backups, oldest first; other files are left alone."""
    return sorted(path for path in folder.iterdir() if NAME.fullmatch(path.name) and path.is_file())


def _remove_stale_parts(folder: Path, now: datetime) -> None:
    for part in folder.glob(".glycol-fleet-*.sqlite3.part*"):
        if part.stat().st_mtime < (now - STALE).timestamp():
            part.unlink(missing_ok=True)
