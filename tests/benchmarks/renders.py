"""Documents of a changing record: the memory that they leave, and how long posted visits take meanwhile.

Every document is made after another visit to one of its customer's units, so that none is like the one before.
"""

import json
from collections.abc import Iterator, Sequence
from datetime import timedelta
from functools import partial
from hashlib import sha256
from itertools import islice
from pathlib import Path
from statistics import median

from service.app import open_database
from service.domain.audit import Actor
from service.processes.documents import Documents
from service.processes.documents import pool as processes
from service.processes.pool import Pool
from service.rendering.year.formats import write_summary
from service.schemas.transfer import read_lines
from service.settings import Settings
from service.storage.migrating import upgrade
from service.usecases.system import FleetDatabase
from service.usecases.transfer import importing
from service.usecases.year import summaries
from tests.benchmarks import bodies
from tests.benchmarks.fleets import SITES_A_CUSTOMER, UNITS_A_SITE
from tests.benchmarks.load import Client
from tests.benchmarks.programs import Server, megabytes
from tests.benchmarks.ratios import Figure, quantile
from tests.benchmarks.run import Run
from tests.benchmarks.summaries import NOW
from tests.summary_recount.generated import fleet

DOCUMENTS, BESIDE, ALONE, AT_MOST = 300, 60, 300, 20_000
PAUSE = 0.05  # [s] between a visit's answer and the next visit
UNITS = UNITS_A_SITE * SITES_A_CUSTOMER  # of one customer


def memory(run: Run) -> Iterator[Figure]:
    """The process that asks the pool for a PDF after each of many visits, the last sixth against the first."""
    made = list(changing(run.scratch, units=60, visits=700, documents=run.scaled(DOCUMENTS), pool=processes()))
    part = max(len(made) // 6, 1)
    first, last = (median(held for _, held in each) for each in (made[:part], made[-part:]))
    yield Figure(
        f"memory over {len(made)} PDFs of a changing record, the last sixth / the first",
        (last / first,),
        goal=1.1,
        note=f"{first:.0f} MB to {last:.0f} MB; {len({digest for digest, _ in made})} different documents",
    )


def changing(folder: Path, *, units: int, visits: int, documents: int, pool: Pool) -> Iterator[tuple[str, float]]:
    """The SHA-256 of each document and the memory after it [MB]; before each a visit of the last ones is recorded."""
    lines = [json.dumps(record).encode() for record in fleet(units=units, visits=visits, seed=1, days=1040)]
    settings = Settings(database_url=f"sqlite:///{folder}/changing.sqlite3", home=folder)
    upgrade(settings.database_url, Path("migrations").absolute())
    database = open_database(settings)
    make = Documents(pool, database, settings)
    figures = partial(summaries.summarise, code="lantern", year=2026, as_of=NOW, program_version="0", units_shown=None)
    try:
        _record(database, lines[:-documents])
        for line in lines[-documents:]:
            _record(database, [line])
            document = make(figures, partial(write_summary, form="pdf"))
            yield sha256(document).hexdigest(), megabytes()
    finally:
        pool.close()
        database.close()


def _record(database: FleetDatabase, lines: Sequence[bytes]) -> None:
    with database.writing() as store:
        actor = Actor("benchmark", "owner", None, NOW)
        errors = importing.import_records(store, actor, read_lines(lines), keep_good=False).errors
    if errors:
        raise RuntimeError(f"the generated records were refused: {errors[:3]}")


def documents(run: Run) -> Iterator[Figure]:
    """PDFs of one customer while visits to its units are posted, after the same visits alone."""
    database = run.copy(run.shop_database, "renders")
    posted = bodies.realistic_mix(UNITS, run.shop.today - timedelta(days=59))
    path = f"/v1/customers/customer-1/service-summaries/{run.shop.today.year}?format=pdf"
    with run.checkout.serving(database) as server:
        alone = Client(server.port, _visits(server, posted, run.scaled(ALONE)), pause=PAUSE).wait()
        client = Client(server.port, _visits(server, posted, AT_MOST), pause=PAUSE)
        try:
            made = {sha256(server.get(path)).hexdigest() for _ in range(run.scaled(BESIDE))}
        finally:
            meanwhile = client.stop()
    before, then = (1000 * quantile(each.latencies, 0.99) for each in (alone, meanwhile))
    yield Figure(
        f"p99 of visits posted beside {run.scaled(BESIDE)} PDFs / alone",
        (then / before,),
        note=f"{then:.0f} ms of {len(meanwhile.latencies)} visits, {before:.0f} ms alone; {len(made)} documents differ",
    )
    yield Figure("visits refused meanwhile", (len(meanwhile.refusals),), unit="", goal=0)


def _visits(server: Server, posted: Iterator[bytes], visits: int) -> Sequence[bytes]:
    return [server.request("POST", "/v1/visits", body) for body in islice(posted, visits)]
