"""Import a file of records: all of them or, on request, the valid ones, with every error reported by its line."""

from collections.abc import Iterable

from service.domain.audit import Actor
from service.storage.store import Store
from service.usecases.transfer.import_session import ImportSession
from service.usecases.transfer.import_tally import (
    MOST_ERRORS,
    WHY_LEFT_OUT,
    Line,
    LineError,
    NothingStored,
    Rehearsed,
    Tally,
)

__all__ = ["MOST_ERRORS", "WHY_LEFT_OUT", "Line", "LineError", "NothingStored", "Rehearsed", "Tally", "import_records"]


def import_records(
    store: Store, actor: Actor, lines: Iterable[Line], *, keep_good: bool, dry_run: bool = False, tokens: bool = False
) -> Tally:
    """Store every line's record; NothingStored when a line is wrong, unless the valid ones are to be kept.

    A `dry_run` stores every record as the import would, and ends with Rehearsed, which takes all of it back.

    A customer, technician, site, unit or task that is already stored is updated from the line; a visit,
    correction or voiding that is already stored is left as it is. Lines of `tokens` are left out unless asked for.
    """
    session = ImportSession(store, actor, keeps=not dry_run, with_tokens=tokens)
    tally = session.tally
    for line in lines:
        tally.lines += 1
        faults = line.faults or session.take(line)
        tally.refuse(line.number, faults, line.more_faults)
    if tally.errors and not keep_good:
        raise NothingStored(tally)
    if dry_run:
        store.visits.flush()
        raise Rehearsed(tally)
    session.refresh()
    return tally
