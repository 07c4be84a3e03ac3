"""The fleet's year of a shop against the bare SQL of the same rows, and the memory it takes."""

from collections.abc import Iterator
from datetime import UTC, datetime, time
from time import perf_counter

from service.app import open_database
from service.rendering.year import fleet_pdf as fleet_year_pdf
from service.settings import Settings
from service.storage.engine.sqlite import driver
from service.usecases.year.summaries import summarise_fleet
from tests.benchmarks.programs import megabytes
from tests.benchmarks.ratios import Figure
from tests.benchmarks.run import Run

BARE = (
    """SELECT v.unit_id, v.version, v.uuid, v.day, v.arrived_at, v.left_at, v.kind, v.by_whom, v.evidence, v.symptom,
              v.reported_at, v.outcome FROM visit v WHERE v.void IS NULL ORDER BY v.unit_id, v.arrived_at""",
    """SELECT t.unit_id, t.task, t.day, t.result, t.as_found, t.reason FROM task_result t
       JOIN visit v ON v.id = t.visit_id WHERE v.void IS NULL ORDER BY v.unit_id, v.arrived_at""",
    """SELECT r.unit_id, r.component, c.kind, r.day, r.reason, r.condition, r.evidence, r.by_whom FROM replacement r
       JOIN visit v ON v.id = r.visit_id JOIN component c ON c.unit_id = r.unit_id AND c.code = r.component
       WHERE v.void IS NULL ORDER BY v.unit_id, v.arrived_at""",
)


def year(run: Run) -> Iterator[Figure]:
    """Two thousand units with ten visits each: the figures, and the document."""
    database = open_database(Settings(database_url=f"sqlite:///{run.shop_database}", home=run.folder))
    bare = driver().connect(str(run.shop_database))
    as_of = datetime.combine(run.shop.today, time(23), UTC)
    taken, floors, rendered, resident = [], [], [], [megabytes()]
    for _ in range(run.rounds):
        start = perf_counter()
        for query in BARE:
            bare.execute(query).fetchall()
        middle = perf_counter()
        with database.reading() as store:
            year_of_fleet = summarise_fleet(store, as_of.year, as_of=as_of, program_version="0")
        end = perf_counter()
        fleet_year_pdf.render(year_of_fleet)
        floors.append(middle - start)
        taken.append(end - middle)
        rendered.append(perf_counter() - end)
        resident.append(megabytes())
    database.close()
    bare.close()
    yield Figure("fleet's year / the bare SQL of its rows", tuple(a / b for a, b in zip(taken, floors, strict=True)))
    yield Figure(f"fleet's year, {run.shop.units} units, {run.shop.units * 10} visits", tuple(taken), unit="s", goal=5)
    yield Figure("its PDF", tuple(rendered[1:] or rendered), unit="s")
    yield Figure("memory after the last / after the first", (resident[-1] / resident[1],), goal=1.2)
