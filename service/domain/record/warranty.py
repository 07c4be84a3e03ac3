"""Which failed items were under warranty, as far as the record knows the item that was in the position."""

from datetime import date

from service.domain.instants import local_day
from service.domain.record.failed import is_failure
from service.domain.record.imprecise_days import days_of, is_exact, latest_by
from service.domain.record.unit_log import UnitLog
from service.domain.record.visits import Item, Replacement, Visit

NAMEPLATE = ("maker", "model", "serial")


def under_warranty(log: UnitLog) -> dict[tuple[str, int], date]:
    """The last day of warranty of each item that failed within it, by the visit and number of its replacement.

    The item is the one that the replacement before it put into the position, unless its nameplate was read otherwise,
    or nobody knows which of the two came first.
    """
    counted = [(visit, n, part) for visit in log.all_visits if visit.void is None
               for n, part in enumerate(visit.replacements)]  # fmt: skip
    found: dict[tuple[str, int], date] = {}
    held: dict[str, tuple[Item | None, date]] = {}
    for visit, n, part in sorted(counted, key=lambda each: latest_by(each[2].on, each[0].day)):
        item, since = held.get(part.component, (None, date.min))
        item = None if _perhaps_before(since, part) else item
        until = None if item is None or _another(item, part) else item.warranty_until
        if until is not None and is_failure(part) and failed_by(visit, part) <= until:
            found[visit.id, n] = until
        held[part.component] = None if _perhaps_before(since, part) else part.item, latest_by(part.on, visit.day)
    return found


def failed_by(visit: Visit, part: Replacement) -> date:
    """The day by which an item had failed: when it was complained of, else when it was replaced, at the latest."""
    reported = visit.complaint.reported_at if visit.complaint else None
    if part.on is None and reported is not None:
        return min(local_day(reported, visit.time_zone), visit.day)
    return latest_by(part.on, visit.day)


def _perhaps_before(day: date, part: Replacement) -> bool:
    """Whether a replacement of which the day is not known exactly may have been made before a day."""
    return part.on is not None and not is_exact(part.on) and (days_of(part.on)[0] or date.min) < day


def _another(item: Item, part: Replacement) -> bool:
    """Whether the item taken out has a nameplate other than that of the item put in before."""
    pairs = ((getattr(item, name), getattr(part.removed_item, name, None)) for name in NAMEPLATE)
    return any(one != other for one, other in pairs if one is not None and other is not None)
