"""Triage in worker processes: pure functions of the domain, whose questions hold all that they need."""

from collections.abc import Callable
from contextlib import suppress
from threading import Thread
from typing import TypeVar

from service.domain.errors import Unavailable
from service.domain.physics.libraries import props_si
from service.processes.pool import Pool, memory, processors
from service.processes.worker import load
from service.usecases.computing import here

T = TypeVar("T")
SECONDS = 10  # some hundred times as long as a triage takes
MOST = 2
WAITING = 2  # for each process, under way and next: a third is done sooner in the thread that asks
GIB = 2**30  # [B] of memory for each: CoolProp and scipy take 140 MB of a process
NEEDED = ("service.domain.triage.diagnose", "service.domain.triage.cause", "scipy.interpolate", "scipy.optimize")


def processes() -> int:
    """How many there are: none on one processor, which a process would not make faster, or with little memory."""
    return min(processors() // 2, memory() // GIB, MOST)


class Triage:
    """Runs triage in a pool; in the thread that asks where the pool cannot, or all are at work and others wait."""

    def __init__(self, most: int | None = None) -> None:
        """At `most` so many processes, by default as many as suit the machine."""
        most = processes() if most is None else most
        self._pool = Pool(processes=most, waiting=WAITING * most, seconds=SECONDS) if most else None

    def __call__(self, function: Callable[..., T], *arguments: object) -> T:
        """What the function returns or raises."""
        if self._pool is not None:
            with suppress(Unavailable):  # the pool's: what is run here raises none
                return self._pool(function, *arguments)
        return here(function, *arguments)

    def start(self) -> None:
        """Start a process in the background, and load what it needs."""
        Thread(target=self._load, name="triage", daemon=True).start()

    def close(self) -> None:
        """End the processes; what is asked from now on is done in the thread that asks."""
        if self._pool is not None:
            self._pool.close()

    def _load(self) -> None:
        for module in NEEDED:
            self(load, module)
        self(props_si, "P", "T", 273.15, "Q", 1, "R134a")  # CoolProp, and its fluids
