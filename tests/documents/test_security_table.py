"""The table of OWASP ASVS 5.0.0 in DEVELOPERS.md: each requirement of level 1 and 2 once, each with a test or a reason.

The numbers are the standard's own; `asvs_5_0_0.toml` names the source.
"""

import ast
import re
import tomllib
from functools import cache
from itertools import chain
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
LEVELS = tomllib.loads(Path(__file__).with_name("asvs_5_0_0.toml").read_text(encoding="utf-8"))


def place(number: str) -> list[int]:
    return [int(part) for part in number.split(".")]


NUMBERS = sorted((number for level in LEVELS.values() for number in level.split()), key=place)
SECTION = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("\n## Security: OWASP ASVS 5.0.0\n")[2]
SECTION = SECTION.partition("\n## ")[0]
ROWS = [[cell.strip() for cell in row.strip("|").split("|")] for row in SECTION.splitlines() if re.match(r"\| \d", row)]
TEST = re.compile(r"`(tests/[\w/]+\.py)::(\w+)`")
REASONED = ("not applicable", "not met", "partly", "documented", "by design")


def numbers_of(cell: str) -> list[str]:
    """Those of "2.1.1, 2.2.1-2.3.4", where a range holds all of level 1 and 2 between its ends."""
    found: list[str] = []
    for part in cell.split(", "):
        first, _, last = part.partition("-")
        found += NUMBERS[NUMBERS.index(first) : NUMBERS.index(last or first) + 1]
    return found


@cache
def functions_of(path: str) -> frozenset[str]:
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    return frozenset(node.name for node in tree.body if isinstance(node, ast.FunctionDef))


def marked(word: str) -> list[str]:
    return [number for row in ROWS if row[2].startswith(word) for number in numbers_of(row[0])]


def test_every_number_stands_once_and_in_order() -> None:
    assert [len(level.split()) for level in LEVELS.values()] == [70, 183]
    assert sorted(chain.from_iterable(numbers_of(row[0]) for row in ROWS), key=place) == NUMBERS
    firsts = [numbers_of(row[0])[0] for row in ROWS]
    assert firsts == sorted(firsts, key=place)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0])
def test_a_row_has_a_test_or_a_reason(row: list[str]) -> None:
    assert [bool(cell) for cell in row] == [True] * 4
    assert TEST.search(row[3]) or row[2].startswith(REASONED)


def test_every_test_that_is_named_is_there() -> None:
    named = TEST.findall(SECTION)

    assert len(named) > 60
    assert [f"{path}::{name}" for path, name in named if name not in functions_of(path)] == []


def test_every_file_that_is_named_is_there() -> None:
    named = set(re.findall(r"`((?:service|openapi|tests)/[\w./]+)[`:]", SECTION))

    assert [path for path in named if not (ROOT / path).exists()] == []


@pytest.mark.parametrize("word", ["not met", "partly"])
def test_what_is_not_met_is_named_before_the_table(word: str) -> None:
    listed = re.search(rf"^{word.capitalize()}: ([\d., ]+)\.$", SECTION, re.MULTILINE)

    assert listed is not None
    assert listed[1].split(", ") == marked(word)
