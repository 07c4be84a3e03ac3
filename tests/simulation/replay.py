"""A fleet through the real import, and what the engine says of it after every visit, from what was recorded by then."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from itertools import chain
from pathlib import Path
from tempfile import TemporaryDirectory

import orjson

from service.app import open_database
from service.domain.audit import Actor
from service.domain.record.unit_log import UnitLog
from service.domain.root_causes.attribution import weighed_together
from service.domain.root_causes.baselines import Baselines, defaults
from service.domain.root_causes.engine import root_causes_of
from service.domain.root_causes.failures import failures_of
from service.domain.root_causes.fleet_search import searched, suspected
from service.domain.root_causes.history import history_of
from service.domain.root_causes.views import Tracks
from service.schemas.transfer import read_lines
from service.settings import Settings
from service.storage.engine.database import open_engine
from service.storage.tables import metadata
from service.usecases.transfer import importing
from tests.simulation.records import instant
from tests.simulation.truth import Fleet
from tests.simulation.values import learned_of, parts_of_log

AT = datetime(2026, 1, 2, 12, tzinfo=UTC)
Logs = Mapping[str, UnitLog]


@dataclass(frozen=True, slots=True)
class Stated:
    """What is stated of a unit and kind on a day; without a tier it is not listed.

    `fresh`: on this day a replacement of the kind was recorded.
    """

    unit: str
    kind: str
    day: date
    chance: float
    tier: str = ""
    cause: str = ""
    fresh: bool = True


def logs_of(fleet: Fleet) -> Logs:
    """The histories of an imported fleet, each visit recorded at the instant that the fleet says."""
    with TemporaryDirectory() as folder:
        settings = Settings(database_url=f"sqlite:///{folder}/fleet.db", home=Path(folder))
        engine = open_engine(settings.database_url)
        metadata.create_all(engine)
        engine.dispose()
        database = open_database(settings)
        lines = read_lines(orjson.dumps(line) for line in fleet.lines)
        with database.writing() as store:
            tally = importing.import_records(store, Actor("simulation", "owner", None, AT), lines, keep_good=False)
        assert not tally.errors, tally.errors
        with database.reading() as store:
            logs = [log for _, log in chain.from_iterable(store.unit_logs.in_chunks())]
        database.close()
    return {log.unit.tag: _recorded(log, fleet.recorded) for log in logs}


def _recorded(log: UnitLog, at: Mapping[str, datetime]) -> UnitLog:
    return replace(log, all_visits=tuple(replace(visit, posted_at=at[visit.id]) for visit in log.all_visits))


def known(log: UnitLog, day: date) -> UnitLog:
    """What had happened and been recorded by a day."""
    until = instant(day, 0.4)
    return log.as_of(until).known_at(until)


def learned(logs: Logs, start: date, end: date, every: int) -> dict[date, Baselines]:
    """What the engine learns of these units, so many days apart, each time from the past only."""
    days = [start + timedelta(days=n) for n in range(every, (end - start).days, every)]
    return {day: _learned([known(log, day) for log in logs.values()], day) for day in days}


def _learned(logs: Iterable[UnitLog], day: date) -> Baselines:
    own = list(logs)
    common = searched(filter(None, (parts_of_log(log, day) for log in own)))
    return replace(learned_of([history_of(log, day) for log in own], day), fleet=common)


def stated(logs: Logs, units: Iterable[str], baselines: Mapping[date, Baselines]) -> Iterator[Stated]:
    """Of every unit and kind, after every visit since its first replacement."""
    for tag in units:
        log = logs[tag]
        replaced = [visit.posted_at.date() for visit in log.all_visits if visit.replacements]
        days = sorted({visit.posted_at.date() for visit in log.all_visits if replaced})
        for day in days:
            if day >= min(replaced):
                yield from _on(known(log, day), day, _latest(baselines, day))


def _latest(baselines: Mapping[date, Baselines], day: date) -> Baselines:
    last = max((when for when in baselines if when <= day), default=None)
    return defaults() if last is None else baselines[last]


def _on(log: UnitLog, day: date, baselines: Baselines) -> Iterator[Stated]:
    history, tag = history_of(log, day), log.unit.tag
    found = {each.component_kind: each for each in root_causes_of(history, baselines, day)}
    new = {visit.id for visit in log.visits if visit.posted_at.date() == day}
    recorded: dict[str, bool] = {}
    for part in log.replaced():
        recorded[part.kind] = recorded.get(part.kind, False) or part.visit in new
    tracks, common = Tracks(history), suspected(baselines.fleet, tag)
    counted = [failures_of(history, kind, day, tracks) for kind in recorded]
    weighed = {each.failures.kind: each for each in weighed_together(tracks, counted, baselines.of)}
    for kind, fresh in sorted(recorded.items()):
        one = found.get(kind)
        if one:
            yield Stated(tag, kind, day, one.probability_of_chance, one.tier, one.causes[0].cause, fresh)
        else:
            chance = weighed[kind].or_bad_parts(common.get(kind, 0.0)).chance
            yield Stated(tag, kind, day, chance, fresh=fresh)
