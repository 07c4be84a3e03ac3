"""What is in a technician's van: counted, taken, put back, and used up by visits."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from service.domain.quantities import Quantity
from service.domain.record.visits import Visit

ACTIONS = ("take", "put_back", "count")
COUNTED, USED = "count", "used"


@dataclass(frozen=True, slots=True, kw_only=True)
class Movement:
    """Something taken into a van or put back, or all of it counted: how many, or how much."""

    id: str
    technician: str
    item: str
    action: str
    count: int | None = None
    quantity: Quantity | None = None
    at: datetime
    by: str


@dataclass(frozen=True, slots=True)
class Stock:
    """What there should be of an item: pieces, or SI units of the dimension; and when it was counted last."""

    item: str
    amount: float
    dimension: str
    counted_at: datetime | None


def name_of(text: str) -> str:
    """The name of an item as it is compared: a part used is named freely.

    >>> name_of(" Coil cleaner"), name_of("power-switch")
    ('coil_cleaner', 'power_switch')
    """
    return "_".join(text.casefold().replace("-", " ").replace("_", " ").split())


def stock_of(movements: Iterable[Movement], visits: Iterable[Visit], kinds: dict[str, dict[str, str]]) -> list[Stock]:
    """What there should be of each item that was ever moved, from its last count on.

    `visits` are those of the van's technician, `kinds` the kinds of components by unit.
    """
    ordered = sorted(movements, key=lambda each: each.at)
    changes: dict[tuple[str, str], list[tuple[datetime, str, float]]] = {}
    for each in ordered:
        amount, dimension = amount_of(each.count, each.quantity)
        sign = -1.0 if each.action == "put_back" else 1.0
        changes.setdefault((name_of(each.item), dimension), []).append((each.at, each.action, sign * amount))
    for visit in visits:
        for item, dimension, amount in used_up(visit, kinds.get(visit.unit, {})):
            if (item, dimension) in changes:
                changes[item, dimension].append((visit.arrived_at, USED, -amount))
    return [_balance(*key, found) for key, found in sorted(changes.items())]


def amount_of(count: int | None, quantity: Quantity | None) -> tuple[float, str]:
    """An amount in pieces, or in the SI unit of its dimension."""
    return (float(count or 0), COUNTED) if quantity is None else (quantity.value, quantity.dimension)


def used_up(visit: Visit, kinds: dict[str, str]) -> Iterable[tuple[str, str, float]]:
    """(item, dimension, amount) that a visit of ours took from the van: parts used, and components put in."""
    if visit.void is not None or visit.by != "us":
        return
    for part in visit.parts_used:
        if _from_van(part.source):
            amount, dimension = amount_of(part.count, part.quantity)
            yield name_of(part.description), dimension, amount
    for put_in in visit.replacements:
        if put_in.by == "us" and put_in.evidence == "seen" and _from_van(put_in.item.source if put_in.item else None):
            yield kinds.get(put_in.component, "unknown"), COUNTED, 1.0


def _from_van(source: str | None) -> bool:
    return source is None or "van" in name_of(source).split("_")


def _balance(item: str, dimension: str, changes: list[tuple[datetime, str, float]]) -> Stock:
    """The amount since the last count, else since the first movement; what was used at that instant is in it."""
    counted_at = max((at for at, action, _ in changes if action == COUNTED), default=None)
    counted = [amount for at, action, amount in changes if action == COUNTED and at == counted_at][-1:]
    begin = counted_at or min(at for at, action, _ in changes if action != USED)
    since = (a for at, action, a in changes if at > begin or (counted_at is None and action != USED))
    return Stock(item, max(sum(counted) + sum(since), 0.0), dimension, counted_at)
