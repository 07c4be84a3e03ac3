"""Plant one fault at a time in the modules named, or all of the domain and use cases; report what no test notices."""

import argparse
import os
import signal
import sys
import tempfile
import tomllib
from collections import Counter
from pathlib import Path
from random import Random
from time import perf_counter

from tests.mutants.changes import changes
from tests.mutants.files import Files, dotted
from tests.mutants.trial import Trial

FOLDERS = ["service/domain", "service/usecases"]
EQUIVALENT = Path(__file__).with_name("equivalent.toml")


def main() -> int:
    """Print what survives and the share killed; 1 when something survived."""
    os.environ |= {
        "OPENBLAS_NUM_THREADS": "1",
        "OMP_NUM_THREADS": "1",
    }  # before numpy comes: its threads survive no fork
    signal.signal(signal.SIGTERM, lambda *_: sys.exit("ended by SIGTERM"))  # after ending all children
    asked, files, total = _asked(), Files(Path.cwd()), Counter[str]()
    files.preload()
    with tempfile.TemporaryDirectory(prefix="mutants-") as scratch:
        os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = scratch
        sys.pycache_prefix, sys.dont_write_bytecode = f"{scratch}/bytecode", False  # compile once, outside the checkout
        trial = Trial(files, Path(scratch), asked.jobs, asked.budget, asked.seconds, asked.near, asked.tests)
        for file in _named(files, asked.modules or FOLDERS):
            total += _module(trial, file, asked)
    print(_line("total", total))
    return int(bool(total["survived"] + total["run by no test"]))


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    parser.add_argument(
        "modules", nargs="*", help="paths or dotted names, folders too; by default " + ", ".join(FOLDERS)
    )
    parser.add_argument("--sample", type=int, help="so many changes of each module, drawn at random; by default all")
    parser.add_argument("--seed", type=int, default=1, help="of the sample")
    parser.add_argument("--jobs", type=int, default=os.cpu_count(), help="processes at once")
    parser.add_argument(
        "--budget", type=float, default=60.0, help="seconds of tests for a change in each of two stages"
    )
    parser.add_argument("--seconds", type=float, default=5.0, help="of processor time beyond what the tests need")
    parser.add_argument("--near", action="store_true", help="only the tests with a module's name or that import it")
    parser.add_argument("--tests", nargs="+", default=[], metavar="FILE", help="test files in place of those near")
    return parser.parse_args()


def _named(files: Files, names: list[str]) -> list[str]:
    """The files meant by paths or dotted names of modules and folders."""
    found = []
    for name in (dotted(name.rstrip("/")) for name in names):
        new = [file for module, file in files.names.items() if module == name or module.startswith(f"{name}.")]
        if not new:
            raise SystemExit(f"there is no module {name}")
        found += new
    return found


def _module(trial: Trial, file: str, asked: argparse.Namespace) -> "Counter[str]":
    start, listed = perf_counter(), equivalents()
    made = changes(trial.files.read(file))
    wanted = [change for change in made if (dotted(file), change.text) not in listed]
    count = Counter({"equivalent": len(made) - len(wanted)})
    if asked.sample is not None and asked.sample < len(wanted):
        wanted = Random(asked.seed).sample(wanted, asked.sample)
    for change, outcome in trial.outcomes(file, wanted):
        count[outcome] += 1
        if outcome != "killed":
            print(f"{outcome}: {file}:{change.line} {change.function}: {change.text}", flush=True)
    print(f"{_line(file, count)}; {60 * len(wanted) / (perf_counter() - start):.0f} a minute", flush=True)
    return count


def _line(name: str, count: "Counter[str]") -> str:
    """A time-out counts as killed: the tests would not have ended."""
    judged, killed = count.total() - count["equivalent"], count["killed"] + count["timed out"]
    rest = ", ".join(f"{many} {outcome}" for outcome, many in count.items() if many)
    return f"{name}: {killed} of {judged} killed ({100 * killed / judged if judged else 100:.1f} %): {rest}"


def equivalents() -> dict[tuple[str, str], str]:
    """By module and change, why nobody could notice it."""
    listed = tomllib.loads(EQUIVALENT.read_text("utf-8"))["equivalent"]
    return {(each["module"], each["change"]): each["reason"] for each in listed}


if __name__ == "__main__":
    sys.exit(main())
