"""Whether those who are named were with us."""

from collections.abc import Iterator, Mapping
from datetime import date

from service.domain.errors import Fault, NotFound
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
