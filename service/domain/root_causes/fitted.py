"""What was put into units, when and by whom, and how long it lasted."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from service.domain.record.failed import is_failure


@dataclass(frozen=True, slots=True)
class Fitted:
    """An item put into a unit by us: its kind, when, until when it was watched, whether it failed then.

    Where the day of its end is not known exactly, `until` is the last one possible, `surely_until` the first.
    """

    unit: str
    kind: str
    on: date
    until: date
    failed: bool
    maker: str | None = None
    model: str | None = None
    technicians: tuple[str, ...] = ()
    surely_until: date | None = None


@dataclass(frozen=True, slots=True)
class UnitParts:
    """One unit as the search needs it: from and to when it is watched, failures (kind, known day), items fitted."""

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
    exact: bool = True
    earliest: date | None = None


def parts_of(unit: str, watched: tuple[date, date], replaced: Sequence[Replaced]) -> UnitParts:
    """The lives of the items fitted in one unit, from its replacements in the order of time."""
    start, end = watched
    by_place: dict[str, list[Replaced]] = defaultdict(list)
    for each in replaced:
        by_place[each.component].append(each)
    fitted = tuple(
        _life(unit, now, then)
        for own in by_place.values()
        for now, then in zip(own, [*own[1:], _still_there(own[-1], end)], strict=True)
        if now.by_us and now.exact and now.on < then.on and _surely_followed(now, then)
    )
    counted = (each for each in replaced if is_failure(each) and each.exact and each.on >= start)
    failed = tuple(dict.fromkeys((each.kind, each.on) for each in counted))
    return UnitParts(unit, start, end, failed, fitted)


def _surely_followed(now: Replaced, then: Replaced) -> bool:
    """Whether the next replacement in the position was made after this one, whatever its day was."""
    return then.exact or (then.earliest is not None and then.earliest >= now.on)


def _life(unit: str, now: Replaced, then: Replaced) -> Fitted:
    """An item from its fitting to the next replacement in its position."""
    surely = None if then.exact else then.earliest
    failed = is_failure(then)
    return Fitted(unit, now.kind, now.on, then.on, failed, now.maker, now.model, now.technicians, surely)


def _still_there(last: Replaced, end: date) -> Replaced:
    return replace(last, on=max(end, last.on), reason="still there", condition="good", exact=True)
