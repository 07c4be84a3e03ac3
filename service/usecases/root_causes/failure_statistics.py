"""The night's work on failures: figures of the units whose history changed, what is learned, which units to search."""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import chain

import numpy as np

from service.domain.root_causes import figures, fleet_search, sequences, sites
from service.domain.root_causes.baselines import Baselines
from service.domain.root_causes.comparison import Numbers
from service.domain.root_causes.fleet_search import FleetCause
from service.domain.root_causes.history import history_of
from service.domain.root_causes.measured import LEAST_LEVEL, MEASURABLE
from service.storage.store import Store
from service.usecases.system import FleetDatabase

UNITS_A_TURN = 50
UNITS_AT_ONCE = 5000  # weighed together: some ten megabytes
LATEST_ZONE = timedelta(hours=14)  # where it is tomorrow already, what is dated tomorrow counts
DRIFT = 0.02  # a probability that moved by less is not worth a new document
ByKind = dict[tuple[int, str], tuple[float, str]]


def latest_day(at: datetime) -> date:
    """The date where the day begins first."""
    return (at + LATEST_ZONE).date()


def renew(database: FleetDatabase, at: datetime, gap: Callable[[], None]) -> bool:
    """Make the figures of all units whose are stale; whether the causes or their texts are new.

    They are made while others write. A unit whose history changes meanwhile is stale again by its version.
    """
    renewed = of_another_layout(database)
    after: int | None = 0
    while after is not None:
        with database.reading() as store:
            made = next_made(store, at, after)
        if made:
            with database.writing() as store:
                store.failure_statistics.keep(figures.layout(), made)
        after = made[-1][0] if len(made) == UNITS_A_TURN else None
        gap()
    return renewed


def of_another_layout(database: FleetDatabase) -> bool:
    """Whether any figures were made for other causes, or other texts of them."""
    with database.reading() as store:
        return store.failure_statistics.any_of_another(figures.layout())


def renew_range(database: FleetDatabase, at: datetime, low: int, high: int) -> None:
    """Make the stale figures of units in a range of identities, as `renew` does; few are read where few are needed."""
    with database.reading() as store:
        stale = store.failure_statistics.stale(figures.layout(), after=low - 1, last=high, most=high)
        made = _made(store, at, stale)
    if made:
        with database.writing() as store:
            store.failure_statistics.keep(figures.layout(), made)


def next_made(store: Store, at: datetime, after: int) -> list[tuple[int, int, str]]:
    """(unit, version of its history, figures) of the next units behind an identity whose figures are stale."""
    return _made(store, at, store.failure_statistics.stale(figures.layout(), after=after, most=UNITS_A_TURN))


def _made(store: Store, at: datetime, stale: Mapping[int, int]) -> list[tuple[int, int, str]]:
    day = latest_day(at)
    failing = set(store.failures.to_search(list(stale)))
    read = [key for key in stale if key in failing or figures.in_sample(key)]  # of the others there are no figures
    made = {
        key: figures.packed(history_of(log, day), everything=figures.in_sample(key))
        for key, log in store.unit_logs.of(read)
    }
    return [(key, version, made.get(key, "")) for key, version in stale.items()]


def learned(store: Store, at: datetime) -> Baselines:
    """What is learned from the fleet today."""
    day, sample = latest_day(at), (figures.ALL_UP_TO, figures.THEN_EVERY)
    rows = figures.unpacked(store.failure_statistics.of_sample(figures.layout(), *sample))
    together = sequences.counted(store.failures.of_sample(*sample, as_of=day))
    known = replace(figures.learned(rows, day.toordinal()), sequences=sequences.found(together))
    common = fleet_search.searched(store.failures.fitted(as_of=day), dict(store.failures.sites().values()))
    off, measured = _over_units(store, known, day)
    return replace(known, fleet=(*common, *off), measured=tuple(measured))


def _over_units(store: Store, known: Baselines, day: date) -> tuple[list[FleetCause], list[int]]:
    """Sites whose supply is off, and the units of which readings may show a fault, by the figures of all.

    Of these units that with most failures first.
    """
    places, by_site, measured = store.failures.sites(), defaultdict(list), {}
    for unit_id, rows in chain.from_iterable(_figures(store)):
        tag, code = places[unit_id]
        by_site[code].append((tag, rows))
        if figures.any_measured(rows, MEASURABLE, LEAST_LEVEL):
            measured[unit_id] = rows[:, figures.FAILURES].sum()
    several = {code: own for code, own in by_site.items() if len(own) >= sites.LEAST_UNITS}
    off = [found for code, own in several.items() for found in sites.off_voltage(code, own, known, day.toordinal())]
    return off, sorted(measured, key=lambda unit_id: -measured[unit_id])


def _figures(store: Store) -> Iterator[list[tuple[int, Numbers]]]:
    """The rows of each unit that has any, of many units at once."""
    after = 0
    while chunk := store.failure_statistics.after(figures.layout(), after, UNITS_AT_ONCE):
        yield [(unit_id, figures.unpacked([text])) for unit_id, text in chunk]
        after = chunk[-1][0]


def to_search(store: Store, baselines: Baselines, at: datetime, *, all_known: bool = False) -> list[int]:
    """The units whose root causes differ from the figures: new, gone, of another tier, or moved; or all with any."""
    found, standing = unlikely_by_chance(store, baselines, at), store.root_causes.standing()
    changed = {unit for unit, kind in found.keys() - standing.keys()}
    if all_known:
        changed |= {unit for unit, _ in standing}
    for key, known in standing.items():
        chance, tier = found.get(key, (None, None))
        if chance is None:
            changed |= {key[0]} if known.state == "open" else set()
        elif known.state != "dismissed" and (tier != known.tier or abs(chance - known.chance) > DRIFT):
            changed.add(key[0])
    return sorted(changed)


def unlikely_by_chance(store: Store, baselines: Baselines, at: datetime) -> ByKind:
    """The probability of chance and the tier by unit and component kind, where chance is not the better explanation."""
    found: ByKind = {}
    day, places = latest_day(at).toordinal(), store.failures.sites()
    for chunk in _figures(store):
        rows = np.concatenate([own for _, own in chunk])
        owners = np.repeat([key for key, _ in chunk], [len(own) for _, own in chunk])
        tags = [places[key][0] for key, _ in chunk]
        for row, kind, chance, tier in figures.unlikely_by_chance(rows, baselines, day, tags):
            found[int(owners[row]), kind] = chance, tier
    return found
