"""A visit as it was before a correction, read back from the text that the correction kept."""

import json
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any

from service.domain.plain import from_plain
from service.domain.quantities import Quantity, parse_quantity
from service.domain.record.readings import BY_QUANTITY
from service.domain.record.visits import USED_IN, Correction, Visit, Void

KEPT_BESIDE = ("unit", "site", "customer", "time_zone", "shared_by")


def former_visit(visit: Visit, correction: Correction) -> Visit:
    """The visit as it stood before this correction."""
    former = json.loads(correction.former)
    return from_plain(Visit, former | {name: getattr(visit, name) for name in KEPT_BESIDE}, _entered)


def voids_taken_back(visit: Visit, corrections: Iterable[Correction]) -> Iterator[tuple[Void, Correction]]:
    """Each void of a visit that was taken back, with the correction that did so."""
    for made in corrections:
        former = former_visit(visit, made).void if made.unvoids else None
        if former is not None:
            yield former, made


def moves_of(visit: Visit, corrections: Iterable[Correction]) -> Iterator[tuple[Correction, str]]:
    """Each move of a visit to another unit, with the tag of that one."""
    made = [each for each in corrections if each.from_unit is not None]
    following = (*(each.from_unit for each in made[1:]), visit.unit)
    return ((each, str(to_unit)) for each, to_unit in zip(made, following, strict=False))


def unit_at(visit: Visit, corrections: Iterable[Correction], instant: datetime) -> str:
    """The unit at which a visit was recorded at an instant."""
    return next((made.from_unit for made in corrections if made.from_unit and made.at > instant), visit.unit)


def _entered(name: str, text: str, beside: Mapping[str, Any]) -> Quantity:
    """A quantity from its text; what a reading's value can be depends on the reading's quantity."""
    if name == "value":
        return parse_quantity(text, *BY_QUANTITY[beside["quantity"]].dimensions)
    return parse_quantity(text, *(USED_IN if name == "quantity" else ("temperature",)))
