"""The mutation tester on a project of two modules: what a test checks is killed, what none checks survives."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.mutants.__main__ import equivalents
from tests.mutants.changes import changed_code, changes
from tests.mutants.files import Files

ROOT = Path(__file__).parents[2]
PROJECT = {
    "service/__init__.py": "",
    "service/domain/__init__.py": "",
    "service/domain/limits.py": "HIGHEST = 40\n",
    "service/domain/bath.py": (
        "from service.domain.limits import HIGHEST\n\n\n"
        "def too_warm(degrees: float) -> bool:\n    return degrees > HIGHEST\n\n\n"
        "def down_to_one(count):\n    while count > 1:\n        count -= 1\n    return count\n\n\n"
        "def shown(count):\n    return count + 3\n\n\n"
        "def unused(count):\n    return count * 2\n"
    ),
    "tests/test_bath.py": (
        "from service.domain.bath import down_to_one, shown, too_warm\n\n\n"
        "def test_too_warm():\n    assert [too_warm(each) for each in (39, 40, 41)] == [False, False, True]\n\n\n"
        "def test_down_to_one():\n    assert down_to_one(4) == 1\n\n\n"
        "def test_shown():\n    shown(5)\n"
    ),
}


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A checkout with a module that is tested in part."""
    for name, text in PROJECT.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text)
    (tmp_path / "pyproject.toml").write_text('[tool.pytest.ini_options]\naddopts = "--import-mode=importlib"\n')
    return tmp_path


def test_planted_faults_are_killed_where_a_test_checks_and_survive_where_none_does(project):
    done = run(project, "--seconds=1", "service.domain")

    assert done.returncode == 1, done.stdout + done.stderr
    assert reported(done.stdout, "survived") == {
        "return count + 3 -> return None",
        "count + 3 -> count - 3",
        "count + 3 -> count + 4",
        "count + 3 -> count + 2",
    }
    assert "count -= 1 -> pass" in reported(done.stdout, "timed out")
    assert reported(done.stdout, "run by no test") >= {"count * 2 -> count / 2", "count * 2 -> count * 3"}
    assert "service/domain/limits.py: 2 of 2 killed (100.0 %)" in done.stdout
    assert {name: (project / name).read_text() for name in PROJECT} == PROJECT


def test_a_use_case_is_near_the_requests_for_its_resource(tmp_path):
    for name in ("service/usecases/record/calls.py", "service/domain/calls.py", "tests/api/resources/test_calls.py"):
        (tmp_path / name).parent.mkdir(parents=True)
        (tmp_path / name).touch()
    near = [Files(tmp_path).tests_near(f"service/{each}/calls.py") for each in ("usecases", "domain")]
    assert near == [{"tests/api/resources/test_calls.py"}, set()]


@pytest.mark.parametrize(
    ("source", "texts"),
    [
        ("x = a < b\n", ["a < b -> a <= b", "a < b -> a >= b"]),
        ("x = a and not b\n", ["a and (not b) -> a or not b", "not b -> not not b"]),
        (
            "x = max(a, 0.5)\n",
            ["max(a, 0.5) -> min(a, 0.5)", "max(a, 0.5) -> max(a, 0.505)", "max(a, 0.5) -> max(a, 0.495)"],
        ),
        ("f(True)\n", ["f(True) -> pass", "f(True) -> f(False)"]),
        ("if a:\n    raise B\n", ["a -> not a", "raise B -> pass"]),
        ('"""A text."""\n__all__ = ["a"]\nx: Literal[1] = "read by people"\n', []),
        ("@dataclass(frozen=True)\nclass A:\n    x: int | None = field(metadata={1: 2})\n", []),
    ],
)
def test_changes_of_a_source(source, texts):
    assert [change.text for change in changes(source)] == texts


def test_every_change_of_a_module_compiles_and_differs():
    source = PROJECT["service/domain/bath.py"]
    unchanged = compile(source, "bath.py", "exec", dont_inherit=True)

    assert [change for change in changes(source) if changed_code(source, change.number, "bath.py") == unchanged] == []


def test_every_equivalent_listed_is_a_change_of_its_module_and_says_why():
    for (module, text), reason in equivalents().items():
        source = Path(ROOT, *module.split(".")).with_suffix(".py").read_text("utf-8")
        assert text in {change.text for change in changes(source)}, f"{module}: {text}"
        assert reason


def run(project: Path, *modules: str) -> "subprocess.CompletedProcess[str]":
    command = [sys.executable, "-m", "tests.mutants", *modules]
    environment = os.environ | {"PYTHONPATH": str(ROOT), "TMPDIR": str(project), "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"}
    return subprocess.run(command, cwd=project, env=environment, capture_output=True, text=True, check=False)


def reported(output: str, outcome: str) -> set[str]:
    """The changes with that outcome."""
    return set(re.findall(rf"^{outcome}: \S+ \S+: (.+)$", output, re.MULTILINE))
