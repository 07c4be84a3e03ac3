"""A noun as it was entered: the body that the API takes, with every quantity in the text as typed."""

from datetime import date, datetime
from functools import partial
from typing import Any

from service.domain.instants import at_site
from service.domain.quantities import Quantity
from service.domain.record.structure import take_apart

EMPTY: tuple[Any, ...] = (None, [], {})


def as_entered(value: Any, zone: str = "UTC") -> dict[str, Any]:
    """Plain JSON values of a noun; instants with the offset of `zone`; what is empty is left out."""
    taken = take_apart(value, partial(_leaf, zone=zone))
    return {name: part for name, part in taken.items() if part not in EMPTY}


def _leaf(value: Any, zone: str) -> Any:
    if isinstance(value, Quantity):
        return value.entered
    if isinstance(value, datetime):
        return at_site(value, zone)
    return value.isoformat() if isinstance(value, date) else value
