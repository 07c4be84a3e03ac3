"""The house keeps its own rules: form, types, arrows, the committed API document."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

from service.api.openapi import document
from service.app import RESOURCES

ROOT = Path(__file__).parents[2]
SCRIPTS = Path(sys.executable).parent
CHECKS = {
    "format": ["ruff", "format", "--check", "."],
    "lint": ["ruff", "check", "."],
    "types": ["mypy"],
    "arrows": ["lint-imports"],
}


@pytest.mark.parametrize("name", CHECKS)
def test_the_house_rule_holds(name):
    command, *arguments = CHECKS[name]
    done = subprocess.run([SCRIPTS / command, *arguments], cwd=ROOT, capture_output=True, text=True, check=False)

    assert done.returncode == 0, done.stdout[-8000:] + done.stderr[-2000:]


def test_the_committed_api_document_is_the_one_generated():
    """Mend a difference with: glycol-fleet openapi > openapi/openapi.yaml."""
    committed = (ROOT / "openapi" / "openapi.yaml").read_text(encoding="utf-8")

    assert yaml.safe_load(committed) == yaml.safe_load(yaml.safe_dump(document(RESOURCES)))


def test_no_function_outgrows_forty_lines_and_no_module_three_hundred():
    """Of a function the docstring does not count."""
    assert [path for path in modules() if lines(path) > 300] == []
    assert [place for path in modules() for place in long_functions(path)] == []


def modules():
    return sorted((ROOT / "service").rglob("*.py"))


def lines(path):
    return len(path.read_text(encoding="utf-8").splitlines())


def long_functions(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef):
            docstring = ast.get_docstring(node, clean=False)
            length = node.end_lineno - node.lineno + 1 - (len(docstring.splitlines()) if docstring else 0)
            if length > 40:
                yield f"{path.name}:{node.name} {length}"
