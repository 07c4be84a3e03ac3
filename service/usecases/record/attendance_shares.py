"""Keep in step among how many visits the time on site of an attendance is shared."""

from collections.abc import Mapping
from typing import Any

from service.domain.errors import Fault, Invalid
from service.domain.record.attendances import OF_VISITS, unfit
from service.domain.record.visits import Visit
from service.storage.store import Store
from service.usecases.record.calls import raise_logs


def share(store: Store, visit: Visit) -> None:
    """After a visit was added, voided or taken back: share the time among those that count."""
    if visit.attendance is None:
        return
    found = store.attendances.counting(visit.attendance)
    store.attendances.share(visit.attendance, len(found))
    raise_logs(store, {tag for _, tag in found} - {visit.unit})


def check_named(store: Store, visit: Visit) -> None:
    """Refuse a visit of a file that names an attendance which is not stored."""
    if visit.attendance is not None and store.attendances.fingerprint(visit.attendance) is None:
        raise Invalid([Fault("attendance", visit.attendance, f"there is no attendance {visit.attendance!r}")])


def check_correction(visit: Visit, changes: Mapping[str, Any]) -> None:
    """Refuse to correct at a visit what it has of its attendance."""
    if visit.attendance is None:
        return
    faults = []
    for name in OF_VISITS:
        value = tuple(changes.get(name) or ()) if name == "crew" else changes.get(name)
        if name in changes and value != getattr(visit, name):
            message = f"is that of the attendance; correct it with PATCH /v1/attendances/{visit.attendance}"
            faults.append(Fault(name, None, message))
    if faults:
        raise Invalid(faults)


def check_fit(store: Store, visit: Visit) -> None:
    """Refuse to count a visit again that does not fit its attendance as that now stands."""
    if visit.attendance is None:
        return
    attendance = store.attendances.get(visit.attendance, to_write=True)
    faults = list(unfit(visit, attendance))
    if visit.unit in {tag for _, tag in store.attendances.counting(attendance.id)}:
        faults.append(Fault("unit", visit.unit, "has another visit in the same attendance"))
    if faults:
        raise Invalid(faults)
