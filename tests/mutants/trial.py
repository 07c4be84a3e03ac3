"""A module's changes, each tried against the tests that run its line: those of the module first, then all others."""

import importlib
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import spec_from_file_location
from itertools import accumulate
from pathlib import Path
from types import CodeType

import pytest

from tests.mutants.changes import Change, changed_code
from tests.mutants.files import Files, dotted
from tests.mutants.recording import Record, records, run_pytest
from tests.mutants.workers import TOO_LONG, forked

Tests = dict[str, float]  # seconds by node id


@dataclass(frozen=True)
class Trial:
    """What the trials of one run share. Each stage of a change takes the fastest tests, `budget` seconds at most."""

    files: Files
    scratch: Path
    at_once: int
    budget: float
    grace: float
    near_only: bool
    named: Sequence[str] = ()  # test files tried in place of those near a module

    def outcomes(self, file: str, wanted: Sequence[Change]) -> Iterator[tuple[Change, str]]:
        """Plant each change of a module; yield what became of it as soon as that is known."""
        left, reached, near = list(wanted), set(), set(self.named) or self.files.tests_near(file)
        for tests in (near, set() if self.near_only else self.files.tests_reaching(file) - near):
            known = records(self.files.root, self.scratch, tests if left else (), self.at_once)
            plans = {change: self._tests(file, change, known, near) for change in left}
            self._check_unchanged(file, plans)
            jobs = ((change, *self._job(file, change.number, plan)) for change, plan in plans.items() if plan)
            for change, code in forked(jobs, self.at_once, self.scratch / "trial.log"):
                reached.add(change)
                if code:
                    left.remove(change)
                    yield change, "timed out" if code in TOO_LONG else "killed"
        yield from ((change, "survived" if change in reached else "run by no test") for change in left)

    def _tests(self, file: str, change: Change, known: dict[str, Record], near: set[str]) -> Tests:
        """The tests for a change. On what an import runs may depend whoever uses the module or one that imports it."""
        found: Tests = {}
        for test_file, record in known.items():
            tests = record.of(file, change.lines if change.function else None)
            if not change.function:
                users = record.seconds if test_file in near else ()
                tests = tests.union(users, *(record.of(user, None) for user in self.files.importers(file)))
            found |= {test: record.seconds[test] for test in tests}
        fastest = sorted(found, key=found.__getitem__)
        sums = accumulate(found[test] for test in fastest)
        return {test: found[test] for test, total in zip(fastest, sums, strict=True) if total <= self.budget}

    def _check_unchanged(self, file: str, plans: dict[Change, Tests]) -> None:
        """Without a change every test must pass, or what fails with one proves nothing."""
        tests = {test: seconds for plan in plans.values() for test, seconds in plan.items()}
        log = self.scratch / "unchanged.log"
        for _, code in forked([(file, *self._job(file, None, tests))] if tests else [], 1, log):
            if code:
                raise SystemExit(f"{file}: its tests fail without a change ({code}):\n{log.read_text('utf-8')[-4000:]}")

    def _job(self, file: str, number: int | None, tests: Tests) -> tuple[Callable[[], int], float]:
        seconds = self.grace + len({test.partition("::")[0] for test in tests}) + 3 * sum(tests.values())
        return partial(self._run, file, number, tests), seconds

    def _run(self, file: str, number: int | None, tests: Tests) -> int:
        """In a child: put the changed module in the place of the true one, then run the tests."""
        if number is not None:
            path = self.files.root / file
            sys.meta_path.insert(
                0, _Planted(dotted(file), path, changed_code(self.files.read(file), number, str(path)))
            )
        importlib.import_module(dotted(file))
        chosen = _Chosen(tests)
        code = run_pytest(["-x", *chosen.files], self.scratch, chosen)
        return 0 if code == pytest.ExitCode.NO_TESTS_COLLECTED else code


class _Planted(MetaPathFinder, SourceFileLoader):
    """Finds one module and loads it from code given; nothing is written."""

    def __init__(self, name: str, path: Path, code: CodeType) -> None:
        super().__init__(name, str(path))
        self.code = code

    def find_spec(self, fullname: str, path: object, target: object = None) -> ModuleSpec | None:
        return spec_from_file_location(fullname, self.path, loader=self) if fullname == self.name else None

    def get_code(self, fullname: str) -> CodeType:
        return self.code


class _Chosen:
    """A pytest plugin that keeps the tests chosen, fast files first, and in them fast tests first."""

    def __init__(self, tests: Tests) -> None:
        self.tests, sums = tests, Counter[str]()
        for test, seconds in tests.items():
            sums[test.partition("::")[0]] += seconds
        self.files = sorted(sums, key=sums.__getitem__)

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        there = {item.nodeid for item in items}
        renamed = {test.partition("[")[0] for test in self.tests if test not in there}  # its parameters have changed
        items[:] = [i for i in items if i.nodeid in self.tests or i.nodeid.partition("[")[0] in renamed]
        items.sort(
            key=lambda item: (self.files.index(item.nodeid.partition("::")[0]), self.tests.get(item.nodeid, 0.0))
        )
