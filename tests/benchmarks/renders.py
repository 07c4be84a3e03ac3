"""Documents of a changing record from a running server: its memory, and how long posted visits take meanwhile.

Every document is made after another visit to one of its customer's units, so that none is like the one before.
"""

from collections.abc import Iterator, Sequence
from datetime import timedelta
from itertools import islice
from statistics import median

from tests.benchmarks import bodies
from tests.benchmarks.fleets import SITES_A_CUSTOMER, UNITS_A_SITE
from tests.benchmarks.load import Client
from tests.benchmarks.programs import Server
from tests.benchmarks.ratios import Figure, quantile
from tests.benchmarks.run import Run

DOCUMENTS, ALONE, AT_MOST = 300, 300, 20_000
PAUSE = 0.05  # [s] between a visit's answer and the next visit
UNITS = UNITS_A_SITE * SITES_A_CUSTOMER  # of one customer


def documents(run: Run) -> Iterator[Figure]:
    """PDFs of one customer while visits to its units are posted, after the same visits alone."""
    database = run.copy(run.shop_database, "renders")
    posted = bodies.realistic_mix(UNITS, run.shop.today - timedelta(days=59))
    with run.checkout.serving(database) as server:
        alone = Client(server.port, _visits(server, posted, run.scaled(ALONE)), pause=PAUSE).wait()
        client = Client(server.port, _visits(server, posted, AT_MOST), pause=PAUSE)
        try:
            held, made = written(server, run.shop.today.year, run.scaled(DOCUMENTS))
        finally:
            meanwhile = client.stop()
    part = max(len(held) // 6, 1)
    first, last = median(held[:part]), median(held[-part:])
    yield Figure(
        f"memory over {len(held)} PDFs of a changing record, the last sixth / the first",
        (last / first,),
        goal=1.1,
        note=f"{first:.0f} MB to {last:.0f} MB of the server; {len(set(made))} different documents",
    )
    before, then = (1000 * quantile(each.latencies, 0.99) for each in (alone, meanwhile))
    yield Figure(
        "p99 of visits posted meanwhile / alone",
        (then / before,),
        note=f"{then:.0f} ms of {len(meanwhile.latencies)} visits, {before:.0f} ms alone",
    )
    yield Figure("visits refused meanwhile", (len(meanwhile.refusals),), unit="", goal=0)


def written(server: Server, year: int, documents: int) -> tuple[list[float], list[bytes]]:
    """The server's memory after each document [MB], and the documents."""
    held, made = [], []
    path = f"/v1/customers/customer-1/service-summaries/{year}"
    for _ in range(documents):
        made.append(server.get(f"{path}?format=pdf"))
        held.append(server.megabytes())
    return held, made


def _visits(server: Server, posted: Iterator[bytes], visits: int) -> Sequence[bytes]:
    return [server.request("POST", "/v1/visits", body) for body in islice(posted, visits)]
