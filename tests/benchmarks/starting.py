"""How long it takes to start, and how much memory it takes to go on."""

from collections.abc import Iterator
from datetime import timedelta
from itertools import islice
from statistics import median

from tests.benchmarks import bodies
from tests.benchmarks.load import Client
from tests.benchmarks.programs import Server
from tests.benchmarks.ratios import Figure
from tests.benchmarks.run import Run

PASS = ("-c", "pass")
HELP = ("-m", "service", "--help")
FEW, MANY = 1000, 20_000


def start(run: Run) -> Iterator[Figure]:
    """From the start of `glycol-fleet serve` to its first answer."""
    database = run.copy(run.shop_database, "start")
    rounds = []
    for _ in range(run.rounds):
        with run.checkout.serving(database) as server:
            rounds.append((server.seconds_to_answer, run.checkout.seconds_of(*PASS)))
    yield Figure("cold start to first answer", tuple(taken for taken, _ in rounds), unit="s", goal=1)
    yield Figure(
        "cold start / python -c pass",
        tuple(taken / floor for taken, floor in rounds),
        note=f"python -c pass {median(floor for _, floor in rounds) * 1000:.0f} ms",
    )


def show_help(run: Run) -> Iterator[Figure]:
    """`glycol-fleet --help` against the interpreter alone."""
    rounds = [(run.checkout.seconds_of(*HELP), run.checkout.seconds_of(*PASS)) for _ in range(2 * run.rounds + 1)]
    yield Figure(
        "--help / python -c pass",
        tuple(taken / floor for taken, floor in rounds),
        note=f"{median(taken for taken, _ in rounds) * 1000:.0f} ms",
    )


def memory(run: Run) -> Iterator[Figure]:
    """Resident memory after many requests of every kind against that after a few."""
    posted = bodies.realistic_mix(run.shop.units, run.shop.today - timedelta(days=59))
    few, many = run.scaled(FEW), run.scaled(MANY)
    with run.checkout.serving(run.copy(run.shop_database, "memory")) as server:
        requests = _mixed(server, posted, run.shop.units)
        fresh = server.megabytes()
        Client(server.port, list(islice(requests, few)), connections=4).wait()
        early = server.megabytes()
        Client(server.port, list(islice(requests, many - few)), connections=4).wait()
        late = server.megabytes()
    yield Figure(f"memory after {many} requests", (late,), unit="MB", goal=200, note=f"{fresh:.0f} MB at the start")
    yield Figure(
        f"memory after {many} requests / after {few}", (late / early,), goal=1.1, note=f"{early:.0f} MB after {few}"
    )


def _mixed(server: Server, posted: Iterator[bytes], units: int) -> Iterator[bytes]:
    """Of ten requests two post visits, six look at a unit, one pulls the PM list, one pages through the fleet."""
    for number, body in enumerate(posted):
        one, other = (f"/v1/units/GU-{(number * step) % units + 1:06}" for step in (7, 11))
        for _ in range(2):
            yield server.request("GET", one)
            yield server.request("GET", f"{other}/due")
        yield server.request("POST", "/v1/visits", body)
        if number % 2:
            yield server.request("GET", "/v1/pm-list?limit=100")
            yield server.request("GET", "/v1/units?limit=20")
        else:
            yield server.request("GET", f"{one}/history?limit=20")
            yield server.request("GET", f"{other}/due")
