"""Every module is tested by the file that mirrors its name, or DEVELOPERS.md says where."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
TABLE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("\n## Tests\n")[2].partition("\n## ")[0]
ROWS = [row.strip("|").split("|") for row in TABLE.splitlines() if row.startswith("| ") and "`" in row]
SUBJECTS = {path for row in ROWS for path in re.findall(r"`(service[\w/.]*)`", row[0])}
PLACES = {path for row in ROWS for path in re.findall(r"`(tests[\w/.]*)`", row[1])}
MODULES = [path.relative_to(ROOT) for path in (ROOT / "service").rglob("*.py") if path.name != "__init__.py"]


def is_placed(module: Path) -> bool:
    mirror = ROOT / "tests" / module.relative_to("service").parent / f"test_{module.name}"
    return mirror.is_file() or str(module) in SUBJECTS or str(module.parent) in SUBJECTS


@pytest.mark.parametrize("module", MODULES, ids=str)
def test_a_module_has_a_place_where_it_is_tested(module: Path) -> None:
    assert is_placed(module)


def test_every_place_that_is_named_is_there() -> None:
    assert len(PLACES) > 15
    assert [place for place in PLACES if not (ROOT / place).exists()] == []
