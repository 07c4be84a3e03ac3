"""The order of the PM list: what is at stake comes first, and what is done with other work is listed with it.

The classes in their order: a unit that is down, an open call, parts that should be there, a unit to be followed up, a
root cause that can hurt somebody, then PM. A stop has the class of its worst item.
"""

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping
from datetime import date
from functools import lru_cache
from itertools import pairwise
from operator import itemgetter
from typing import NamedTuple

from service.domain.maintenance.catalogue import CATALOGUE
from service.domain.maintenance.due import FOLLOW_UP
from service.domain.maintenance.tasks import parse_interval
from service.domain.record.calls import URGENCIES

CLASSES = ("down", "call", "parts", "follow_up", "root_cause", "pm")
CALL, ROOT_CAUSE = "call", "root_cause"
OF_OUTCOME = {"down": "down", "waiting_for_parts": "parts"}  # the class of a follow-up by the outcome that it follows
NOT_DUE = 10.0  # added to the urgency of what is not yet due
CONTAINING: Mapping[str, tuple[str, ...]] = {task.code: task.also_by for task in CATALOGUE if task.also_by}
CONTAINED = frozenset((*CONTAINING, FOLLOW_UP))
LARGER = frozenset(code for codes in CONTAINING.values() for code in codes)
URGENCY: Mapping[str, int] = {task.code: task.urgency for task in CATALOGUE}
Key = tuple[int, float, float, str]
Names = Callable[[Collection[int], Collection[int]], tuple[Mapping[int, str], Mapping[int, str]]]
BY_KEY = itemgetter(3)  # the key of an entry
WITHIN_STOP = itemgetter(3, 1, 2)  # the key, unit and item of an entry


class Entry(NamedTuple):
    """An item as the order needs it. Of a call, `item` is its id; else it is the task.

    `key` orders the list; `technician_id` is who usually serves the site, or goes there. `includes` are tasks that are
    done with this one and not listed apart. `assigned_day` is the day to which it is assigned. `begins` is the day
    on which a call was received that is due by its urgency: any day from then on will do.
    """

    site_id: int
    unit_id: int
    item: str
    key: Key
    due_on: str
    minutes: int
    work: str
    zone: str
    technician_id: int | None = None
    includes: tuple[str, ...] = ()
    assigned_day: str | None = None
    begins: str | None = None


def class_of(task: str, outcome: str | None) -> str:
    """The class of a due item; `outcome` is that of the unit's latest visit.

    >>> class_of("follow_up", "down"), class_of("follow_up", "recovering"), class_of("pump_check", "down")
    ('down', 'follow_up', 'pm')
    """
    return OF_OUTCOME.get(outcome or "", "follow_up") if task == FOLLOW_UP else "pm"


@lru_cache(maxsize=16384)
def key_of_item(work: str, task: str, due_on: str, interval: str | None, today: int) -> Key:
    """Where a due item stands: PM by urgency and share of its interval overrun, what is due first; the rest by date.

    `today` is the ordinal of the date at the site.
    """
    if work != "pm":
        return CLASSES.index(work), 0.0, 0.0, due_on
    late = today - ordinal(due_on)
    share = late / days_of(interval) if interval else float(late)
    return CLASSES.index(work), URGENCY.get(task, 0) + (0.0 if late >= 0 else NOT_DUE), -share, due_on


def key_of_call(urgency: str, received_at: str) -> Key:
    """Where a call stands: by urgency, then by when it was received."""
    return CLASSES.index(CALL), float(URGENCIES.index(urgency)), 0.0, received_at


@lru_cache(maxsize=4096)
def ordinal(day: str) -> int:
    """The number of a day."""
    return date.fromisoformat(day).toordinal()


@lru_cache(maxsize=1024)
def days_of(interval: str) -> int:
    """The length of an interval given as text, in days."""
    return parse_interval(interval).days


def listed_once(entries: Iterable[Entry]) -> list[Entry]:
    """The entries of one unit without those that another one contains, which takes the worse class of the two.

    A task contained in a larger one is done with it; a follow-up is done by the visit that answers a call.
    """
    left = {entry.item: entry for entry in entries}
    if FOLLOW_UP not in left and left.keys().isdisjoint(LARGER):
        return list(left.values())
    calls = [entry for entry in left.values() if entry.work == CALL] if FOLLOW_UP in left else []
    first_call = min(calls, default=None, key=BY_KEY)
    for item in sorted(left.keys() & CONTAINED):  # the entries come in any order
        larger = next((code for code in CONTAINING.get(item, ()) if code in left), None)
        if item == FOLLOW_UP and first_call is not None:
            larger = first_call.item
        if larger is not None:
            left[larger] = _with(left[larger], left.pop(item))
    return list(left.values())


def _with(larger: Entry, contained: Entry) -> Entry:
    worse = min(larger, contained, key=BY_KEY)
    includes = (*larger.includes, contained.item)
    due_on = larger.due_on
    if larger.begins is not None:  # however long the call can wait, the follow-up cannot
        due_on = max(larger.begins, min(due_on, contained.due_on))
    return larger._replace(key=worse.key, work=worse.work, includes=includes, due_on=due_on)


def into_stops(entries: Iterable[Entry], names: Names) -> list[list[Entry]]:
    """The entries by site, the worst site first and within it the worst item first.

    Of equals the code of the site and the tag of the unit decide: `names` gives those of some sites and units.
    """
    sites = _by_site(entries)
    sites_of: defaultdict[Key, list[int]] = defaultdict(list)
    units: dict[int, set[int]] = {}
    for site_id, found in sites.items():
        found.sort(key=WITHIN_STOP)
        sites_of[found[0].key].append(site_id)
        if equal := _equal(found):
            units[site_id] = equal
    tied = [site_id for equal in sites_of.values() if len(equal) > 1 for site_id in equal]
    codes, tags = names(tied, set().union(*units.values()))
    for site_id in units:
        sites[site_id].sort(key=lambda entry: (entry.key, tags.get(entry.unit_id, ""), entry.unit_id, entry.item))
    return sorted(sites.values(), key=lambda found: (found[0].key, codes.get(found[0].site_id, ""), found[0].site_id))


def _equal(ordered: list[Entry]) -> set[int]:
    """The identities of the units of which the keys alone do not say which comes first."""
    found: set[int] = set()
    for before, after in pairwise(ordered):
        if before.unit_id != after.unit_id and before.key == after.key:
            found.update((before.unit_id, after.unit_id))
    return found


def _by_site(entries: Iterable[Entry]) -> dict[int, list[Entry]]:
    sites: defaultdict[int, list[Entry]] = defaultdict(list)
    for entry in entries:
        sites[entry.site_id].append(entry)
    return sites
