"""Whether those who are named were with us."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime

from service.domain.errors import Fault, NotFound
from service.domain.instants import local_day
from service.domain.record.checks import LAST_ZONE
from service.storage.store import Store


def left_faults(store: Store, named: Mapping[str, str | None], day: date) -> Iterator[Fault]:
    """A fault for each field whose technician had left by the day of a visit; leave does not count."""
    for field, code in named.items():
        if code is None:
            continue
        try:
            technician = store.technicians.get(code)
        except NotFound:  # refused by who asks
            continue
        if not technician.is_with_us(day):
            yield Fault(field, code, f"left on {technician.left_on}, but the visit is on {day}: correct one of the two")


def left_anywhere(
    store: Store, technician: str | None, crew: Sequence[str] | None, arrived_at: datetime
) -> Iterator[Fault]:
    """The same of a visit at a place that is not known: by the clock where its day is the earliest."""
    named = {"technician": technician} | {f"crew.{n}": code for n, code in enumerate(crew or ())}
    day = arrived_at.date() if arrived_at.tzinfo is None else local_day(arrived_at, LAST_ZONE)
    return left_faults(store, named, day)
