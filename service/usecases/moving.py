"""Move all records to another database; who reads goes on meanwhile, and writers are refused until it has ended.

In the order in which things are recorded there is no moment at which both databases can be written to: the target is
marked as arriving before its first row; the source is marked as moved before that mark is taken away.
"""

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime

from service.storage import moving as rows
from service.storage.engine.database import Refused
from service.storage.moves import ARRIVING, MOVED, Move
from service.storage.moving import Digest, address_of
from service.storage.photo_files import PhotoFiles
from service.usecases.system import FleetDatabase, Store

__all__ = [
    "Bar",
    "Digest",
    "FleetDatabase",
    "Moved",
    "Refused",
    "Side",
    "begin",
    "check_servable",
    "move",
    "prepare",
    "undo",
]

Bar = Callable[[str, int], AbstractContextManager[Callable[[int], None]]]


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two databases, and its address without user and password."""

    database: FleetDatabase
    address: str

    @classmethod
    def at(cls, database: FleetDatabase, url: str) -> "Side":
        """A database and where it is."""
        return cls(database, address_of(url))


@dataclass(frozen=True, slots=True)
class Moved:
    """What was moved: count and digest of each table, photos, and those that were missing or damaged before."""

    tables: dict[str, Digest]
    photos: int
    lost: list[str]


def check_servable(database: FleetDatabase) -> None:
    """Refused for a database whose records were moved away, or have not all arrived."""
    with database.reading() as store:
        found = store.moves.get()
    if found is not None:
        where = "to" if found.state == MOVED else "from"
        raise Refused(f"{found.sentence().rstrip('.')} (moved {where} {found.address})")


def prepare(source: Side, target: Side) -> None:
    """Refused when the target must not be written to; what an unfinished move of the same source left is dropped.

    The target may have no tables yet. Nothing is dropped beside another move of the source, which holds it.
    """
    if source.address == target.address:
        raise Refused(f"the records are at {target.address} already: name another, empty database")
    if foreign := rows.foreign_tables(target.database):
        named = ", ".join(foreign[:3])
        raise Refused(f"{target.address} holds tables of another program ({named}): name an empty database")
    with source.database.holding(rows.LOCKED) as store:
        former = _former(store, target)
        filled = rows.first_rows(target.database)
        if "move" in filled and _arriving(target, source.address):
            return rows.drop_all(target.database)
    if filled and former is not None:
        raise Refused(f"the records were moved to {target.address} already; set GLYCOL_FLEET_DATABASE_URL to it")
    if filled:
        raise Refused(f"{target.address} is not empty (table {', '.join(filled[:3])}): name an empty database")
    return None


def _former(store: Store, target: Side) -> Move | None:
    """The mark of the source, of a move to this target; Refused where records arrive there or were moved elsewhere."""
    found = store.moves.get()
    if found is not None and (found.state == ARRIVING or found.address != target.address):
        raise Refused(f"{found.sentence()} ({found.address})")
    return found


def _arriving(target: Side, address: str) -> bool:
    """Whether the target holds an unfinished move from this address; Refused when it is one from elsewhere."""
    with target.database.reading() as store:
        found = store.moves.get()
    if found is None or found.state != ARRIVING:
        return False
    if found.address != address:
        raise Refused(f"{target.address} holds an unfinished move from {found.address}: end that, or drop the database")
    return True


def begin(source: Side, target: Side, now: datetime) -> None:
    """Mark the migrated, empty target, so that it is neither served nor taken for a whole one."""
    with target.database.writing() as store:
        store.moves.add(Move(ARRIVING, source.address, now))


def move(source: Side, target: Side, *, now: datetime, bar: Bar, check: Callable[[], None]) -> Moved:
    """Copy all records into the marked target, compare both, `check` the answers, and hand over.

    An exception leaves the source as it was, and the target marked as arriving.
    """
    _copy_photos(source, target, whole=True)  # most of them before anybody is held up
    with source.database.holding(rows.LOCKED) as store:
        former = _former(store, target)  # again: another move may have ended since
        total = rows.counted(store.link)
        with bar("Copying", total) as progress:
            rows.copy(store.link, target.database, progress)
        photos, lost = _copy_photos(source, target, whole=False)
        with bar("Comparing", total) as progress, target.database.reading() as copy:
            tables = rows.compare(store.link, copy.link, progress)
        check()
        if former is None:
            store.moves.add(Move(MOVED, target.address, now))
    with target.database.holding(rows.LOCKED) as store:
        store.moves.clear(ARRIVING)
    return Moved(tables, photos, lost)


def _copy_photos(source: Side, target: Side, *, whole: bool) -> tuple[int, list[str]]:
    """Copy the photos that the target's folder lacks, or holds damaged; how many it has then, and which are nowhere."""
    with source.database.reading() as store:
        names, files = store.photos.names(), store.photo_files
    theirs = _photos_of(target)
    _, lost = theirs.add_from(files, names, whole=whole and files.folder != theirs.folder)
    return len(names) - len(lost), lost


def _photos_of(side: Side) -> PhotoFiles:
    with side.database.reading() as store:
        return store.photo_files


def undo(database: FleetDatabase) -> str:
    """Let the source of a move be written to again; where the records had been moved to."""
    with database.holding(rows.LOCKED) as store:
        found = store.moves.get()
        if found is None:
            raise Refused("the records were not moved")
        if found.state == ARRIVING:
            raise Refused(found.sentence())
        store.moves.clear(MOVED)
    return found.address
