"""The units of which the lines of an import speak, each looked up once."""

from typing import NamedTuple

from service.domain.record.fleet import Unit
from service.domain.record.locations import Location
from service.storage.places import Place
from service.storage.store import Store
from service.usecases.record.visits import location_of


class Known(NamedTuple):
    """A unit of which lines speak: its place, which is kept from other writers, and its locations as recorded."""

    place: Place
    unit: Unit
    recorded: tuple[Location, ...]


class KnownUnits:
    """By tag; whoever changes a unit, its site or its locations has them looked up again."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._known: dict[str, Known] = {}

    def at(self, tag: str) -> Known:
        """The unit of a tag, or of one that it had before; Invalid where there is none."""
        known = self._known.get(tag)
        if known is None:
            place = location_of(self._store, tag)
            if place.tag != tag:
                return self.at(place.tag)
            known = Known(place, self._store.units.get(tag), self._store.locations.of(place.id))
            self.keep(known)
        return known

    def keep(self, known: Known) -> None:
        """Keep a unit as it is now."""
        self._known[known.place.tag] = known

    def forget(self, tag: str) -> None:
        """Look a unit up again."""
        self._known.pop(tag, None)

    def clear(self) -> None:
        """Look all up again."""
        self._known.clear()
