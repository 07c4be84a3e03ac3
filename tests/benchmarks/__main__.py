"""Run the benchmarks named, or all, and print their table: `python -m tests.benchmarks [--small] [names]`."""

import argparse
import os
import platform
from collections.abc import Callable, Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

from service.storage.engine.sqlite import driver
from tests.benchmarks import (
    fleet_years,
    importing,
    lists,
    posting,
    refreshing,
    root_causes,
    starting,
    summaries,
)
from tests.benchmarks.ratios import Figure, table
from tests.benchmarks.run import Run, say

BENCHMARKS: dict[str, Callable[[Run], Iterator[Figure]]] = {
    "help": starting.show_help,
    "start": starting.start,
    "post": posting.post,
    "import": importing.take_in,
    "memory": starting.memory,
    "pm-list": lists.pm_list,
    "deep-page": lists.deep_page,
    "figures": summaries.figures,
    "pdf": summaries.pdf,
    "scoring": root_causes.scoring,
    "visit-search": root_causes.of_visit,
    "night": root_causes.night,
    "fleet-year": fleet_years.year,
    "refresh": refreshing.refresh,  # the last: it changes the large book
}


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    parser.add_argument("names", nargs="*", choices=[*BENCHMARKS, []], help="which; all unless told")
    parser.add_argument("--rounds", type=int, default=5, help="rounds of each, whose median counts")
    parser.add_argument("--small", action="store_true", help="a tenth of everything, to try the benchmarks themselves")
    asked = parser.parse_args()
    start, load = perf_counter(), os.getloadavg()
    figures: list[Figure] = []
    with TemporaryDirectory(prefix="glycol-fleet-benchmarks-") as folder:
        run = Run(Path(folder), asked.rounds, asked.small)
        for name, benchmark in BENCHMARKS.items():
            if name in (asked.names or BENCHMARKS):
                say(name)
                figures += benchmark(run)
    print(table(figures))
    print(
        f"\nPython {platform.python_version()}, SQLite {driver().sqlite_version}, {os.cpu_count()} processors, "
        f"load {load[0]:.1f} before and {os.getloadavg()[0]:.1f} after, {perf_counter() - start:.0f} s"
    )


if __name__ == "__main__":
    main()
