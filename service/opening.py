"""Open the database of the settings: what commands need that serve nothing. Nothing is opened at import."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from service.domain.errors import Unavailable
from service.folders import PRIVATE_FOLDER, shipped
from service.settings import FILE_NAME, Settings
from service.storage import moves, revision
from service.storage.engine import database as storage
from service.storage.engine.database import Refused
from service.storage.log_cache import MOST_PARTS, LogCache
from service.storage.photo_files import PhotoFiles, folder_of
from service.storage.store import Store
from service.storage.year_cache import YearCache
from service.usecases.system import FleetDatabase

__all__ = ["Refused", "closed_where_refused", "migrate", "open_checked_database", "open_database", "photo_folder"]


def open_database(
    settings: Settings,
    *,
    patience: float = storage.PATIENCE,
    limited: bool = True,
    store: type[Store] = Store,
    histories: int = MOST_PARTS,
) -> FleetDatabase:
    """The database at the address of the settings; nothing is connected yet. Creates the default folder.

    So many parts of `histories` are kept in memory.
    """
    if settings.database_url == f"sqlite:///{settings.home / FILE_NAME}":
        settings.home.mkdir(PRIVATE_FOLDER, parents=True, exist_ok=True)
    files = PhotoFiles(photo_folder(settings))
    factory = partial(store, log_cache=LogCache(histories), photo_files=files, year_cache=YearCache())
    return storage.open_database(
        settings.database_url, factory, patience=patience, limited=limited, guard=moves.refuse_writes
    )


def photo_folder(settings: Settings) -> Path:
    """Where the files of photos are; it is made with the first one."""
    return settings.photo_folder or folder_of(settings.database_url, settings.home)


def migrate(settings: Settings) -> None:
    """Bring the database to the schema of this program; Refused when it must not be changed."""
    from service.storage import migrating

    database = open_database(settings)
    try:
        database.check_start()
        database.claim()
        migrating.check_revision(database, shipped("migrations"))
        migrating.upgrade(settings.database_url, shipped("migrations"))
    finally:
        database.close()


def open_checked_database(settings: Settings) -> FleetDatabase:
    """The database, checked and at the schema of this program; Refused otherwise."""
    database = open_database(settings)
    with closed_where_refused(database):
        database.check_start()
        if not revision.is_newest(database.engine, shipped("migrations")):
            _check_schema(database)
    return database


@contextmanager
def closed_where_refused(database: FleetDatabase) -> Iterator[None]:
    """Close a database that cannot be reached or must not be used; Refused then."""
    try:
        yield
    except Unavailable as refusal:
        database.close()
        raise Refused(str(refusal)) from refusal
    except Refused:
        database.close()
        raise


def _check_schema(database: FleetDatabase) -> None:
    from service.storage import migrating  # it needs Alembic, whose import takes longer than many commands

    migrating.check_revision(database, shipped("migrations"))
    migrating.require_head(database, shipped("migrations"))
