"""Documents of the database made in worker processes: figures and text, of which only the bytes come back."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from service.opening import open_database
from service.processes.pool import Pool, processors
from service.settings import Settings
from service.usecases.system import FleetDatabase, Store
from service.usecases.year import kept_years

V = TypeVar("V")
T = TypeVar("T")
PROCESSES = 2
JOBS = 50  # the typesetter keeps memory after every document and gives none of it back
WAITING = 16
SECONDS = 120
NICENESS = 10  # visits are posted while documents are made, and go first where processors are few

_opened: dict[str, FleetDatabase] = {}  # in a worker process, by address


def pool() -> Pool:
    """The processes that make documents; one where there is but one processor."""
    return Pool(processes=min(PROCESSES, processors()), jobs=JOBS, waiting=WAITING, seconds=SECONDS, niceness=NICENESS)


class Documents:
    """Makes documents of one database in a pool, and keeps the years of units that were made for them."""

    def __init__(self, run: Pool, database: FleetDatabase, settings: Settings) -> None:
        self._run, self._database, self._settings = run, database, settings
        self._code = kept_years.layout()  # now: the files of the program may be replaced while the server runs
        with database.reading() as store:
            self._years = store.unit_years.cache

    def __call__(self, read: Callable[[Store], V], write: Callable[[V], T]) -> T:
        """What `write` makes of what `read` finds, which is one snapshot of the database."""
        made: T
        made, rows = self._run(_make, self._settings, self._database.identity(), self._code, read, write)
        self._years.add_rows(rows)
        return made


def _make(
    settings: Settings,
    identity: Mapping[Path, tuple[int, int]],
    code: str,
    read: Callable[[Store], V],
    write: Callable[[V], T],
) -> tuple[T, list[dict[str, Any]]]:
    """What was made, and the years made for it: none by other code: a process may have loaded parts of two programs."""
    with _database(settings, identity).reading() as store:
        found, years = read(store), store.unit_years.cache
    made, rows = write(found), kept_years.hand_over(years)
    return made, rows if kept_years.layout() == code else []


def _database(settings: Settings, identity: Mapping[Path, tuple[int, int]]) -> FleetDatabase:
    """The database, opened once in a process; histories are not kept, as few documents ask for the same one again."""
    if settings.database_url not in _opened:
        database = open_database(settings, histories=0)
        database.join(identity)
        _opened[settings.database_url] = database
    return _opened[settings.database_url]
