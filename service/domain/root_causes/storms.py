"""Failures of one kind at one site within few days: one event, as of a storm, that counts once for a season.

Not for models and people: whoever finds one leaking pump of a batch replaces all of a site on that round.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date

from service.domain.root_causes.fitted import UnitParts

STORM = 3  # days within which what fails at one site is found, a storm and its calls; judged


def events(failed: Iterable[tuple[str, str, date]]) -> set[tuple[str, date]]:
    """Of failures (site, unit, day) unit and day of the first of each event.

    >>> storm, after = date(2026, 5, 13), date(2026, 5, 14)
    >>> sorted(unit for unit, _ in events([("S", "U-1", storm), ("S", "U-2", after), ("T", "U-3", after)]))
    ['U-1', 'U-3']
    """
    kept, site, first = set(), "", date.min
    for at, unit, day in sorted(failed, key=lambda each: (each[0], each[2], each[1])):
        if at != site or (day - first).days > STORM:
            kept.add((unit, day))
            site, first = at, day
    return kept


def failed_once(units: Sequence[UnitParts], sites: Mapping[str, str]) -> list[UnitParts]:
    """The units; of the failures of a kind in one event the first alone is left."""
    failed = defaultdict(list)
    for each in units:
        for kind, day in each.failed:
            failed[kind].append((_site(each.unit, sites), each.unit, day))
    kept = {kind: events(own) for kind, own in failed.items()}
    return [
        replace(each, failed=tuple((kind, day) for kind, day in each.failed if (each.unit, day) in kept[kind]))
        for each in units
    ]


def _site(unit: str, sites: Mapping[str, str]) -> str:
    return sites.get(unit, f"of {unit}")
