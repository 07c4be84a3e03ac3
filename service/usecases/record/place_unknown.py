"""What is wrong with a visit or an attendance at a unit or site that is not recorded, whichever it should be."""

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from service.domain.audit import Actor
from service.domain.errors import Fault
from service.domain.plain import from_plain
from service.domain.record.checks import EASTERNMOST, UNKNOWN_SERVICE, faults_of
from service.domain.record.local_times import by_clock, local_times
from service.domain.record.visits import Visit
from service.storage.store import Store
from service.usecases.record import new_components
from service.usecases.record.staff import left_anywhere

OF_CLOCK = ("arrived_at", "left_at", "at", "reported_at", "parts_promised_on")


def of_visit(store: Store, actor: Actor, new: Mapping[str, Any]) -> Iterator[Fault]:
    """The faults of a visit to a unit that is not recorded; by this clock nothing is wrongly in the future."""
    given, _ = new_components.split(by_clock(new, EASTERNMOST))
    posted = {"posted_at": actor.at, "posted_by": actor.name, "site": "", "customer": "", "time_zone": EASTERNMOST}
    visit = from_plain(Visit, {**posted, **given})
    found = faults_of(visit, kinds=None, now=actor.at, in_service=UNKNOWN_SERVICE, time_zone=EASTERNMOST, recorded=True)
    yield from without_clock(new, found)
    yield from left_anywhere(store, visit.technician, visit.crew, new["arrived_at"])


def without_clock(given: Mapping[str, Any], faults: Iterable[Fault]) -> Iterator[Fault]:
    """Of the faults found by the easternmost clock, those that hold by every clock."""
    local = any(True for _ in local_times(given))
    for fault in faults:
        if not local or fault.field.rpartition(".")[2] not in OF_CLOCK:
            yield fault
    arrived, left = given["arrived_at"], given.get("left_at")
    if left is not None and arrived.tzinfo is None and left.tzinfo is None and left < arrived:
        yield Fault("left_at", left.isoformat(), f"is before arrived_at, {arrived.isoformat()}")
