"""Which test runs which line: each test file is run once under coverage, and its record kept until a file changes."""

import functools
import hashlib
import json
import os
import shutil
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from time import process_time
from typing import Any

import pytest
from coverage import Coverage
from hypothesis import Phase, settings

from tests.mutants.workers import forked

SECONDS = 900.0  # of processor time for one test file
PYTEST = ("-p", "no:cacheprovider", "-W", "ignore::pytest.PytestAssertRewriteWarning")


@dataclass(frozen=True)
class Record:
    """What one test file does: the seconds of each test that passes; by file and line the tests that run it."""

    seconds: dict[str, float]
    lines: dict[str, dict[str, list[int]]]

    def of(self, file: str, lines: range | None) -> set[str]:
        """The tests that run one of the lines of a file; any line where none are given."""
        known, tests = self.lines.get(file, {}), list(self.seconds)
        wanted = known if lines is None else {str(line) for line in lines} & known.keys()
        return {tests[index] for line in wanted for index in known[line]}


def records(root: Path, scratch: Path, files: Iterable[str], at_once: int) -> dict[str, Record]:
    """The record of each test file; those are made that are missing or older than what they ran."""
    kept = Path(tempfile.gettempdir(), f"mutants-records-{os.getuid()}")
    kept.mkdir(exist_ok=True)
    found = {file: _current(root, kept, file) for file in sorted(files)}
    missing = [file for file, record in found.items() if record is None]
    if missing:
        print(f"... running {len(missing)} test files to see which lines they run", file=sys.stderr, flush=True)
    jobs = ((file, partial(_record, root, kept, scratch, file), SECONDS) for file in missing)
    for file, code in forked(jobs, at_once, log := scratch / "recording.log"):
        if code not in {0, 1, 5}:
            raise SystemExit(f"{file} could not be recorded ({code}):\n{log.read_text('utf-8')[-4000:]}")
        found[file] = _current(root, kept, file)
    return {file: record for file, record in found.items() if record}


def _current(root: Path, kept: Path, file: str) -> Record | None:
    """The record that was made from files with the present contents."""
    for path in kept.glob(f"{_slug(file)}-*.json"):
        stored = json.loads(path.read_text("utf-8"))
        if all(_digest(root / name) == known for name, known in stored["inputs"].items()):
            return Record(stored["seconds"], stored["lines"])
    return None


def _slug(file: str) -> str:
    return f"{file.replace('/', '.')}-{sys.version_info.major}.{sys.version_info.minor}"


@cache
def _digest(path: Path) -> str:
    return hashlib.blake2b(path.read_bytes(), digest_size=12).hexdigest() if path.exists() else ""


def _record(root: Path, kept: Path, scratch: Path, file: str) -> int:
    """In a child: run a test file under coverage, and write its record."""
    coverage = Coverage(data_file=None, config_file=False, include=[str(root / "service/*")])
    coverage.set_option("run:core", "ctrace")  # the only one that separates tests on every interpreter
    recorder = _Recorder(coverage)
    coverage.start()
    code = run_pytest([file], scratch, recorder)
    coverage.stop()
    loaded = {Path(each) for module in list(sys.modules.values()) if (each := getattr(module, "__file__", None))}
    used = {str(path.relative_to(root)) for path in loaded if path.is_relative_to(root)} | {file}
    inputs = {name: _digest(root / name) for name in sorted(used) if not name.startswith((".venv/", "tests/mutants/"))}
    body = json.dumps({"inputs": inputs, "seconds": recorder.seconds, "lines": dict(recorder.lines(root))})
    name = f"{_slug(file)}-{hashlib.blake2b(json.dumps(inputs).encode(), digest_size=8).hexdigest()}"
    Path(kept, f"{name}.{os.getpid()}").write_text(body, "utf-8")
    Path(kept, f"{name}.{os.getpid()}").replace(kept / f"{name}.json")
    return code


def run_pytest(arguments: list[str], scratch: Path, plugin: object) -> int:
    """Run tests in this process, with generated examples that are the same every time and are not made smaller."""
    phases = (Phase.explicit, Phase.generate)
    settings.register_profile("mutants", derandomize=True, database=None, deadline=None, phases=phases)
    settings.load_profile("mutants")
    folder = scratch / f"pytest-{os.getpid()}"
    code = int(pytest.main([*PYTEST, f"--basetemp={folder}", *arguments], plugins=[plugin]))
    shutil.rmtree(folder, ignore_errors=True)
    return code


class _Recorder:
    """A pytest plugin: attributes each line to the test that runs it, or to the shared fixture for which it runs."""

    def __init__(self, coverage: Coverage) -> None:
        self.coverage, self.caches, self.current = coverage, _caches(), ""
        self.seconds: dict[str, float] = {}
        self.failed: set[str] = set()
        self.contexts: dict[str, list[str]] = {}

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = [item for item in items if not _needs_server(item)]

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        for cached in self.caches:
            cached.cache_clear()  # else only the first test would seem to run what is cached
        self.current, start = item.nodeid, process_time()
        self.coverage.switch_context(item.nodeid)
        self.contexts[item.nodeid] = [item.nodeid, *(f"fixture {name}" for name in getattr(item, "fixturenames", ()))]
        result = yield
        if item.nodeid not in self.failed:
            self.seconds[item.nodeid] = round(process_time() - start, 3)
        return result

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Iterator[None]:
        if fixturedef.scope != "function":
            self.coverage.switch_context(f"fixture {fixturedef.argname}")
        try:
            return (yield)
        finally:
            self.coverage.switch_context(self.current)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.add(report.nodeid)

    def lines(self, root: Path) -> Iterator[tuple[str, dict[str, list[int]]]]:
        """By file and line, the numbers of the tests that pass and run it."""
        users = defaultdict(set)
        for number, test in enumerate(self.seconds):
            for context in self.contexts[test]:
                users[context].add(number)
        data = self.coverage.get_data()
        for path in sorted(data.measured_files()):
            found = data.contexts_by_lineno(path).items()
            tests = {str(line): sorted(set().union(*(users.get(c, ()) for c in where))) for line, where in found}
            yield str(Path(path).relative_to(root)), {line: numbers for line, numbers in tests.items() if numbers}


def _needs_server(item: pytest.Item) -> bool:
    """Whether a test runs on PostgreSQL: starting it takes longer than most tests, and SQLite answers the same."""
    return "postgres" in item.nodeid.rpartition("::")[2] or "postgres_url" in getattr(item, "fixturenames", ())


def _caches() -> list[Any]:
    """Every cached function that is made from now on."""
    made: list[Any] = []
    original = functools.lru_cache

    def lru_cache(*args: Any, **named: Any) -> Any:
        cached = original(*args, **named)
        if hasattr(cached, "cache_clear"):
            made.append(cached)
            return cached
        return lambda function: made.append(wrapped := cached(function)) or wrapped

    functools.lru_cache = lru_cache
    return made
