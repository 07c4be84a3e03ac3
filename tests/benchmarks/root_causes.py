"""The night's search of 100 000 units against fetching its figures, the scoring of one kind, a visit's own search."""

from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import cycle, islice
from pathlib import Path
from time import perf_counter

import orjson

from service.app import open_database
from service.domain.audit import Actor
from service.domain.root_causes import figures
from service.domain.root_causes.attribution import attribution_of
from service.domain.root_causes.baselines import defaults
from service.domain.root_causes.failures import failures_of
from service.schemas.reading import read
from service.schemas.transfer import read_lines
from service.schemas.visits import VisitSchema
from service.settings import from_environment
from service.storage.engine.sqlite import driver
from service.usecases.record import visits
from service.usecases.root_causes import failure_statistics, root_causes
from service.usecases.transfer import importing
from tests.benchmarks.programs import OURS, environment
from tests.benchmarks.ratios import Figure
from tests.benchmarks.run import Run
from tests.simulation.fleet import fleet
from tests.simulation.lines import lines
from tests.simulation.plan import BASE, Plan

FETCH = "SELECT unit_id, figures FROM failure_statistics WHERE figures != '' ORDER BY unit_id"
AT = datetime(2025, 1, 1, 12, tzinfo=UTC)


def night(run: Run) -> Iterator[Figure]:
    """Learn from the fleet and weigh every unit, five kinds each, from the figures that are stored."""
    file = _filled(run)
    bare = driver().connect(str(file), isolation_level=None)
    taken, floor = [], []
    database = open_database(from_environment(environment(file)))
    for _ in range(run.rounds):
        start = perf_counter()
        bare.execute(FETCH).fetchall()
        floor.append(perf_counter() - start)
        start = perf_counter()
        with database.reading() as store:
            failure_statistics.unlikely_by_chance(store, failure_statistics.learned(store, AT), AT)
        taken.append(perf_counter() - start)
    database.close()
    bare.close()
    yield Figure("root causes of the fleet by night", tuple(taken), unit="s", goal=3)
    yield Figure(
        "root causes of the fleet by night / fetching the figures",
        tuple(each / least for each, least in zip(taken, floor, strict=True)),
        note=f"fetched in {floor[0]:.2f} s",
    )


def _filled(run: Run) -> Path:
    """The large database with the figures of a made fleet, over and over; only ours are there."""
    file = run.copy(run.large_database, "night")
    histories = [made.history for made in fleet(run.scaled(1000), 7, Plan())]
    few = [figures.packed(history, everything=False) for history in histories]
    everything = [figures.packed(history, everything=True) for history in histories]
    rows = [
        (key, figures.layout(), own if figures.in_sample(key) else little)
        for key, little, own in islice(
            zip(range(1, run.large.units + 1), cycle(few), cycle(everything), strict=False), run.large.units
        )
    ]
    bare = driver().connect(str(file), isolation_level=None)
    bare.execute("DELETE FROM failure_statistics")
    bare.execute("BEGIN")
    bare.executemany("INSERT INTO failure_statistics (unit_id, layout, log_version, figures) VALUES (?, ?, 1, ?)", rows)
    bare.execute("COMMIT")
    bare.close()
    return file


def of_visit(run: Run) -> Iterator[Figure]:
    """The search of a unit whose switch keeps failing, as a visit makes it, against storing that visit."""
    actor = Actor("benchmark", "owner", None, AT)
    made_lines = [line for line in lines(sorted(fleet(60, 7, Plan()), key=lambda made: len(made.origins))[-1:])]
    others = [line for line in made_lines if line["record"] != "visit"]
    posted = [{k: v for k, v in line.items() if k != "record"} for line in made_lines if line["record"] == "visit"]
    file = run.scratch / "visit.sqlite3"
    OURS.command(file, "migrate")
    database = open_database(from_environment(environment(file)))
    with database.writing() as store:
        importing.import_records(store, actor, read_lines(orjson.dumps(line) for line in others), keep_good=False)
    storing, searching = [], []
    for visit in posted:
        new = read(VisitSchema(), visit)
        with database.writing() as store:
            start = perf_counter()
            visits.record_visit(store, actor, new, fingerprint=new["id"], body="{}")
            middle = perf_counter()
            place = store.units.place(new["unit"])
            root_causes.search(store, place, store.unit_logs.get(place.id, place.log_version), AT)
            storing.append(middle - start)
            searching.append(perf_counter() - middle)
    database.close()
    late = len(posted) // 2  # by then it has failed twice
    ratios = tuple(s / t for s, t in zip(searching[late:], storing[late:], strict=True))
    yield Figure(
        "a visit's own search / storing it with that search", ratios, goal=0.5, note=f"{1000 * searching[-1]:.2f} ms"
    )


def scoring(run: Run) -> Iterator[Figure]:
    """One unit and component kind from its record to the probabilities."""
    pairs = [(made.history, kind) for made in fleet(run.scaled(300), 7, Plan()) for kind in BASE]
    known, taken = defaults(), []
    for _ in range(run.rounds):
        start = perf_counter()
        for record, kind in pairs:
            attribution_of(record, failures_of(record, kind, record.end), known.of(kind))
        taken.append(1000 * (perf_counter() - start) / len(pairs))
    yield Figure("scoring a unit and component kind", tuple(taken), unit="ms", goal=0.2)
