"""What was put into units, when and by whom, and how long it lasted."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from service.domain.root_causes.failures import is_failure


@dataclass(frozen=True, slots=True)
class Fitted:
    """An item put into a unit by us: its kind, when, until when it was watched, whether it failed then."""

    unit: str
    kind: str
    on: date
    until: date
    failed: bool
    maker: str | None = None
    model: str | None = None
    technicians: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class UnitParts:
    """One unit as the search needs it: since when and until when it is watched, failures (kind, day), items fitted."""

    unit: str
    start: date
    end: date
    failed: tuple[tuple[str, date], ...]
    fitted: tuple[Fitted, ...]


@dataclass(frozen=True, slots=True)
class Replaced:
    """A replacement as the search reads it."""

    component: str
    kind: str
    on: date
    reason: str
    condition: str
    by_us: bool
    maker: str | None = None
    model: str | None = None
    technicians: tuple[str, ...] = ()


def parts_of(unit: str, watched: tuple[date, date], replaced: Sequence[Replaced]) -> UnitParts:
    """The lives of the items fitted in one unit, from its replacements in the order of time."""
    start, end = watched
    by_place: dict[str, list[Replaced]] = defaultdict(list)
    for each in replaced:
        by_place[each.component].append(each)
    fitted = tuple(
        Fitted(unit, now.kind, now.on, then.on, is_failure(then), now.maker, now.model, now.technicians)
        for own in by_place.values()
        for now, then in zip(own, [*own[1:], _still_there(own[-1], end)], strict=True)
        if now.by_us and now.on < then.on
    )
    failed = tuple(dict.fromkeys((each.kind, each.on) for each in replaced if is_failure(each) and each.on >= start))
    return UnitParts(unit, start, end, failed, fitted)


def _still_there(last: Replaced, end: date) -> Replaced:
    return replace(last, on=max(end, last.on), reason="still there", condition="good")
