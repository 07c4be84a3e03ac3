"""Import times of travel between sites."""

from collections.abc import Mapping
from typing import Any

from service.domain.audit import Actor
from service.domain.errors import Fault, Invalid
from service.storage.store import Store
from service.usecases import audit


def take(store: Store, actor: Actor, line: Mapping[str, Any], text: str) -> str:
    """Store the time in a line of an import, which is `text`: "added", "changed" or "unchanged"."""
    first, last, minutes = line["from"], line["to"], line["minutes"]
    faults = [
        Fault(name, line[name], f"there is no site {line[name]!r}")
        for name in ("from", "to")
        if store.sites.ids_of(line[name]) is None
    ]
    if faults:
        raise Invalid(faults)
    known = store.travel_times.get(first, last)
    if known == minutes:
        return "unchanged"
    store.travel_times.put(first, last, minutes)
    audit.record(
        store, actor, action="imported", resource="travel_time", key=f"{first}/{last}", before=None, after=text
    )
    return "added" if known is None else "changed"
