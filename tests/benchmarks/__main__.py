"""Run the benchmarks named, or all, and print each figure as it comes: `python -m tests.benchmarks [names]`."""

import argparse
import os
import platform
import sys
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

from service.storage.engine.sqlite import driver
from tests.benchmarks import (
    driving,
    fleet_years,
    importing,
    judging,
    lists,
    pages,
    posting,
    refreshing,
    renders,
    root_causes,
    starting,
    summaries,
)
from tests.benchmarks.programs import OURS, Checkout
from tests.benchmarks.ratios import HEAD, Figure, line, printed
from tests.benchmarks.run import Run, say

Benchmark = Callable[[Run], Iterator[Figure]]
BENCHMARKS: dict[str, Benchmark] = {
    "help": starting.show_help,
    "start": starting.start,
    "post": posting.realistic_mix,
    "post-failing": posting.every_part_failed,
    "import": importing.import_visits,
    "memory": starting.memory,
    "pm-list": lists.pm_list,
    "deep-page": lists.deep_page,
    "figures": summaries.figures,
    "pdf": summaries.pdf,
    "pages": pages.pages,
    "renders": renders.documents,
    "pdf-memory": renders.memory,
    "assessment": judging.assessing,
    "triage": judging.diagnosing,
    "driving": driving.laying_out,
    "scoring": root_causes.scoring,
    "visit-search": root_causes.of_visit,
    "night": root_causes.night,
    "fleet-year": fleet_years.year,
    "day-start": refreshing.day_start,
    "refresh": refreshing.refresh,
    "forecasts": refreshing.forecasts,
}
IN_PROCESS = {
    "figures",
    "pdf",
    "pdf-memory",
    "assessment",
    "triage",
    "driving",
    "scoring",
    "visit-search",
    "night",
    "fleet-year",
}  # another commit runs its own


def main() -> None:
    """Measure and print; ends with 1 when a benchmark failed."""
    options = _options()
    start, load = perf_counter(), os.getloadavg()
    missed, failed = [], []
    print(line(*HEAD), flush=True)
    with TemporaryDirectory(prefix="glycol-fleet-benchmarks-") as folder:
        checkouts = [OURS, _checkout(options.against)] if options.against else [OURS]
        runs = [Run(each, Path(folder) / str(n), options.rounds, options.small) for n, each in enumerate(checkouts)]
        for name, benchmark in BENCHMARKS.items():
            if options.names and not {name, benchmark.__module__.rpartition(".")[2]} & set(options.names):
                continue
            (figures, *former), failures = _alternate(name, runs, options.turns or len(runs))
            beside = former[0] if former else {}
            for figure in figures.values():
                print(figure.line(beside.get(figure.what)), flush=True)
            for figure in [each for what, each in beside.items() if what not in figures]:
                print(line(figure.what, "none", "", figure.shown, "", "", figure.note), flush=True)
            missed += [figure.what for figure in figures.values() if figure.missed]
            failed += failures
    for title, names in (("missed", missed), ("FAILED", failed)):
        print(f"\n{title}: {len(names)}", *names, sep="\n  ")
    print(
        f"\nPython {platform.python_version()}, SQLite {driver().sqlite_version}, {os.cpu_count()} processors, "
        f"load {load[0]:.1f} before and {os.getloadavg()[0]:.1f} after, {perf_counter() - start:.0f} s"
    )
    sys.exit(1 if failed else 0)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks", description=__doc__)
    names = [*BENCHMARKS, *sorted({each.__module__.rpartition(".")[2] for each in BENCHMARKS.values()}), []]
    parser.add_argument("names", nargs="*", choices=names, metavar="name", help=f"default all of: {names[:-1]}")
    parser.add_argument("--rounds", type=int, default=5, help="rounds of each, whose median counts")
    parser.add_argument("--small", action="store_true", help="a tenth of everything, to try the benchmarks themselves")
    parser.add_argument("--against", type=Path, help="a checkout of another commit, with its own .venv")
    parser.add_argument("--turns", type=int, help="how often each is run, alternating; default the number of commits")
    return parser.parse_args()


def _checkout(folder: Path) -> Checkout:
    return Checkout(folder.absolute(), str(folder.absolute() / ".venv" / "bin" / "python"))


def _alternate(name: str, runs: list[Run], turns: int) -> tuple[list[dict[str, Figure]], list[str]]:
    """The figures of each commit by name, and what failed. Who is first in one turn is last in the next."""
    found: list[dict[str, Figure]] = [{} for _ in runs]
    failures = []
    for turn in range(turns):
        for run, figures in list(zip(runs, found, strict=True))[:: -1 if turn % 2 else 1]:
            say(f"{name} in {run.checkout.folder}")
            try:
                _measure(name, run, figures)
            except Exception as error:  # the others are measured all the same
                traceback.print_exc()
                failures.append(f"{name} in {run.checkout.folder}: {type(error).__name__}: {error}"[:1000])
    return found, failures


def _measure(name: str, run: Run, figures: dict[str, Figure]) -> None:
    """Add the figures of one turn as they come."""
    run.clear()
    for figure in _own(name, run) if run.checkout != OURS and name in IN_PROCESS else BENCHMARKS[name](run):
        known = figures.get(figure.what)
        figures[figure.what] = known.joined(figure) if known else figure


def _own(name: str, run: Run) -> Iterator[Figure]:
    """What the benchmark of this name in that checkout prints."""
    options = ("--rounds", str(run.rounds), *(["--small"] if run.small else []))
    return printed(run.checkout.run("-m", "tests.benchmarks", name, *options))


if __name__ == "__main__":
    main()
