"""Whether work can be planned, and a unit can stand, at a place on a day: pauses, closures and ends."""

from collections.abc import Iterator
from datetime import date

from service.domain.errors import Fault
from service.domain.record.fleet import Site, Unit
from service.domain.record.pauses import Of, PauseText
from service.storage.places import Place
from service.storage.store import Store


def work_faults(store: Store, site: Site, unit: Place | None, field: str, day: date) -> Iterator[Fault]:
    """Why nothing can be done at a site, or at one unit there, on a day: after an end, in a closure or in a pause."""
    retired = unit and unit.retired_on
    found = _ended(store, site, day)
    if unit is not None and retired is not None and day.isoformat() >= retired:
        found = f"the unit {unit.tag} was retired on {retired}"
    found = found or _closed(store, "site", site.code, day, f"the site {site.code} is closed")
    if found is None and unit is not None:
        found = _closed(store, "unit", unit.tag, day, f"the unit {unit.tag} is out of service")
    if found is not None:
        yield Fault(field, day.isoformat(), f"nothing can be done there on this day: {found}")


def standing_faults(store: Store, site: Site, day: date) -> Iterator[Fault]:
    """Why a unit cannot begin to stand at a site on a day."""
    ended = _ended(store, site, day)
    if ended is not None:
        yield Fault("site", site.code, f"no unit can stand there from {day} on: {ended}")


def registering_faults(store: Store, site: Site, unit: Unit, today: date) -> Iterator[Fault]:
    """The same of a unit that is registered; one that is of the past must have been retired by the end."""
    if unit.retired_on is None or _ended(store, site, unit.retired_on - date.resolution) is not None:
        yield from standing_faults(store, site, today)


def _ended(store: Store, site: Site, day: date) -> str | None:
    if site.ended_on is not None and day >= site.ended_on:
        return f"the site {site.code} ended on {site.ended_on}"
    ended = store.customers.get(site.customer).ended_on
    return f"the customer {site.customer} ended on {ended}" if ended is not None and day >= ended else None


def _closed(store: Store, of: Of, key: str, day: date, what: str) -> str | None:
    texts = (each.text for each in store.pauses.of(of, key))
    held = next((text for text in texts if not text.withdrawn and _holds(text, day)), None)
    if held is None:
        return None
    until = "without an end" if held.last is None else f"to {held.last}"
    return f"{what} from {held.first} {until} ({held.reason})"


def _holds(text: PauseText, day: date) -> bool:
    return text.first <= day and (text.last is None or day <= text.last)
