"""Work out the due items of the whole fleet anew, whatever the stored versions say: this makes good what was lost.

Units are worked out while others write; what differs from what is stored is written in one transaction a range.
"""

from collections.abc import Sequence

from service.storage.store import Store
from service.usecases.maintenance.due import WorkedOut, fleet_tasks, keep, refresh_places, rules, worked_out
from service.usecases.system import FleetDatabase


def refresh_range(database: FleetDatabase, low: int, high: int) -> int:
    """Refresh the due items of all units in a range of identities; how many there are."""
    with database.reading() as store:
        ground = _ground(store)
        made = worked_out(store, store.units.places_in(low, high), fleet_tasks(store))
    differing = [each for each in made if each.changes or each.gone or not each.place.due_items_hold(ground[0])]
    if differing:
        with database.writing() as store:
            _keep(store, differing, ground)
    return len(made)


def _ground(store: Store) -> tuple[int, str | None]:
    """The rules, and what was learned: where not all units go by that, a unit with a rule of its own may."""
    return rules(store), store.learned.latest()


def _keep(store: Store, made: Sequence[WorkedOut], ground: tuple[int, str | None]) -> None:
    """Store what was worked out; anew, where a unit, its history or what all go by have changed meanwhile."""
    places = store.units.places_of([each.place.id for each in made])  # other writers of them wait, or have been
    now = _ground(store)
    if now == ground and places == [each.place for each in made]:
        keep(store, made)
    else:
        refresh_places(store, places, fleet_tasks(store))
    store.units.keep_due_state(places, now[0])
