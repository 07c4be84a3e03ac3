"""Clients made by stock generators from the API document, by the commands of the guide, for a day's work.

References: the generators openapi-python-client and openapi-typescript, and the type checkers mypy and tsc, all strict.
"""

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from tests.api.resources.conftest import Shop, shop_at
from tests.web.chromium import Served

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
GUIDE = (ROOT / "openapi" / "guide" / "clients.md").read_text(encoding="utf-8")
DOCUMENT = ROOT / "openapi" / "openapi.yaml"
NO_NODE = "no Node.js found: install node and npm"
UNREACHABLE = "ENOTFOUND|EAI_AGAIN|ECONNREFUSED|ECONNRESET|ETIMEDOUT|ENETUNREACH"
NO_PACKAGES = "no npm packages: the registry cannot be reached"


def run(*command: str, cwd: Path, **more: str) -> str:
    """What a program prints; it must succeed."""
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    surroundings = os.environ | {"CHECKOUT": str(ROOT), "PATH": path} | more
    done = subprocess.run(command, cwd=cwd, env=surroundings, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "warn" not in (done.stdout + done.stderr).lower(), done.stdout + done.stderr
    return done.stdout


def command_of_the_guide(program: str) -> str:
    """The line of the guide that runs a program."""
    (line,) = re.findall(rf"^{program} .*$", GUIDE, re.MULTILINE)
    return line


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """The application with the example's unit on a port; its address is `served.address`."""
    home = tmp_path_factory.mktemp("clients")
    with shop_at(f"sqlite:///{home}/fleet.db", home) as shop:
        shop.unit()
        server = Served(shop)
        shop.address = server.address
        yield shop
        server.stop()


def check(answered: dict[str, Any]) -> None:
    assert answered["due"]
    assert set(answered["due"]) == {"GU-0007"}
    assert "brix_without_sample_temperature" in answered["findings"]
    assert "condenser_clean" in answered["due_items"]
    assert answered["call"][1] == "open"
    assert (answered["year"], answered["refusal"]) == (2026, 422)


def test_a_python_client_is_made_without_a_warning_and_does_a_days_work(served: Shop, tmp_path: Path) -> None:
    run("bash", "-c", command_of_the_guide("openapi-python-client generate") + " --fail-on-warning", cwd=tmp_path)
    package = tmp_path / "glycol-fleet-client"
    shutil.copy(HERE / "day.py", tmp_path)
    strict = ("--strict", "--config-file", os.devnull, "--cache-dir", os.devnull)
    run(sys.executable, "-m", "mypy", *strict, "day.py", str(package), cwd=tmp_path, MYPYPATH=str(package))

    client = {"PYTHONPATH": str(package), "PYTHONWARNINGS": "error"}
    printed = run(sys.executable, "day.py", served.address, served.tokens["owner"], cwd=tmp_path, **client)
    check(json.loads(printed))


def test_a_typescript_client_is_made_without_a_warning_and_does_a_days_work(served: Shop, tmp_path: Path) -> None:
    if not (shutil.which("node") and shutil.which("npm")):
        pytest.skip(NO_NODE)
    for name in ("package.json", "package-lock.json", "tsconfig.json", "day.ts"):
        shutil.copy(HERE / name, tmp_path)
    install = ["npm", "ci", "--prefer-offline", "--no-audit", "--no-fund", "--fetch-retries=1"]
    done = subprocess.run(install, cwd=tmp_path, capture_output=True, text=True, check=False)
    if re.search(UNREACHABLE, done.stderr):
        pytest.skip(NO_PACKAGES)
    assert done.returncode == 0, done.stderr
    run("bash", "-c", command_of_the_guide("npx openapi-typescript"), cwd=tmp_path)
    run("npx", "tsc", cwd=tmp_path)

    check(json.loads(run("node", "day.js", served.address, served.tokens["owner"], cwd=tmp_path)))


def test_the_guide_installs_the_versions_that_are_tested() -> None:
    pinned = json.loads((HERE / "package.json").read_text(encoding="utf-8"))["dependencies"]
    project = (ROOT / "pyproject.toml").read_text(encoding="utf-8")

    assert set(re.findall(r"([a-z-]+)@([0-9.]+)", GUIDE)) == {item for item in pinned.items() if "@" not in item[0]}
    assert f'"{command_of_the_guide("pip install").split()[-1]}"' in project


def test_generators_find_an_object_a_name_and_no_field_that_hides_a_type() -> None:
    """An object with choices beside its properties is a union for them; a field named as its type hides it."""
    schemas = yaml.load(DOCUMENT.read_text(encoding="utf-8"), yaml.CSafeLoader)["components"]["schemas"]

    assert all(re.fullmatch("[A-Z][A-Za-z0-9]*", name) for name in schemas)
    for name, schema in schemas.items():
        if "properties" in schema:
            assert schema.keys().isdisjoint({"anyOf", "oneOf"}), name
            alike = schema["properties"].get(re.sub(r"(?<!^)([A-Z])", r"_\1", name).lower(), {"type": "string"})
            assert alike.get("type") == "string", name
            assert "enum" not in alike, name
