"""Work out the due items of the whole fleet anew, whatever the stored versions say: this makes good what was lost.

Units are worked out while others write; what differs from what is stored is written a few units at a time.
"""

from collections.abc import Sequence

from service.storage.store import Store
from service.usecases.maintenance.due import WorkedOut, fleet_tasks, keep, refresh_places, rules, worked_out
from service.usecases.system import FleetDatabase

UNITS_A_TURN = 125  # written in one transaction: some ten milliseconds, after which a waiting server can write


def refresh_range(database: FleetDatabase, low: int, high: int) -> int:
    """Refresh the due items of all units in a range of identities; how many there are."""
    with database.reading() as store:
        by_rules = rules(store)
        made = worked_out(store, store.units.places_in(low, high), fleet_tasks(store))
    differing = [each for each in made if each.changes or each.gone or not each.place.due_items_hold(by_rules)]
    for start in range(0, len(differing), UNITS_A_TURN):
        with database.writing() as store:
            _keep(store, differing[start : start + UNITS_A_TURN], by_rules)
    return len(made)


def _keep(store: Store, made: Sequence[WorkedOut], by_rules: int) -> None:
    """Store what was worked out; anew, where a unit, its history or the rules have changed meanwhile."""
    places = store.units.places_of([each.place.id for each in made])  # other writers of them wait, or have been
    now = rules(store)
    if now == by_rules and places == [each.place for each in made]:
        keep(store, made)
    else:
        refresh_places(store, places, fleet_tasks(store))
    store.units.keep_due_state(places, now)
