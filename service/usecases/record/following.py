"""What follows from a change of a unit's history: its version, its due items, its root causes."""

from datetime import datetime

from service.domain.maintenance.due import DueItem
from service.domain.record.unit_log import UnitLog
from service.storage.places import Place
from service.storage.store import Store
from service.usecases.maintenance.due import changed, refresh_unit
from service.usecases.root_causes import root_causes


def follow(store: Store, place: Place, at: datetime, *, search: bool = True) -> tuple[UnitLog, list[DueItem]]:
    """Bring what follows from a history that is changed in the tables up to date; the history, and what is due.

    An import does not `search` for root causes line by line, but at its end.
    """
    raised, log = changed(store, place)
    due = refresh_unit(store, raised, log)
    if search:
        root_causes.search(store, raised, log, at)
    return log, due
