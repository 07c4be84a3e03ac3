"""Back up into a folder by hand or once a day, and restore."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from service.storage import backups, restoring
from service.storage.backups import back_up, copy_to
from service.storage.engine.database import Refused
from service.storage.restoring import Newer, Restored
from service.usecases.system import FleetDatabase

__all__ = ["Newer", "Plan", "Refused", "Restored", "back_up", "back_up_once_a_day", "copy_to", "restore"]


@dataclass(frozen=True, slots=True)
class Plan:
    """Where the daily backups go, and how many are kept."""

    folder: Path
    keep: int


def back_up_once_a_day(database: FleetDatabase, plan: Plan, now: datetime) -> Path | None:
    """The new backup; None when there is one of this day (UTC)."""
    if plan.folder.is_dir() and backups.last_day(plan.folder) == now.date():
        backups.copy_photos(database, plan.folder / backups.PHOTOS)  # also what could not be copied at first
        return None
    return back_up(database, plan.folder, plan.keep, now)


def restore(url: str, source: Path, *, migrations: Path, photos: Path, now: datetime) -> Restored:
    """Put a backup in the place of the database at an address; Refused, with nothing changed, when it must not be.

    The photos of the backup that the folder `photos` does not hold are copied into it.
    """
    return restoring.restore(url, source, migrations, photos=photos, stamp=backups.stamp(now))
