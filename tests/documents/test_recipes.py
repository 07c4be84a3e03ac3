"""Two recipes of DEVELOPERS.md, carried out in a copy of the checkout: complete, and no step can be forgotten.

Files and commands are read from the recipe; this file has only the text that each step puts in. A step that the recipe
lacks makes a command fail.
"""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
COPIED = ("service", "tests", "migrations", "openapi", "seed_data", "pyproject.toml", "README.md", "DEVELOPERS.md")
LEFT_OUT = shutil.ignore_patterns("benchmarks", "simulation", "mutants")  # compiled files are copied: they save time
REVISIONS = sorted(path.name[:4] for path in (ROOT / "migrations" / "versions").glob("0*.py"))
NEWEST, NEXT = REVISIONS[-1], f"{int(REVISIONS[-1]) + 1:04}"


@dataclass(frozen=True)
class Edit:
    """Put text before an anchor that is in the file once, or make a file of it."""

    path: str
    text: str
    before: str = ""

    def apply(self, root: Path) -> None:
        file = root / self.path.replace("000N", NEXT)
        if not self.before:
            file.write_text(self.text)
            return
        former = file.read_text()
        assert former.count(self.before) == 1, f"{self.path} has {self.before!r} {former.count(self.before)} times"
        file.write_text(former.replace(self.before, self.text + self.before))


TASK = """    Task(
        code="drain_check",
        name="Drain check",
        interval=Interval(6, "month"),
        shortest=Interval(1, "month"),
        longest=Interval(12, "month"),
        minutes=10,
        bring=("drain brush", "torch", "wipes"),
        cautions=(SLIPPERY, LICENSED),
        source=COMMON_PRACTICE,
    ),
"""
MIGRATION = f'''"""What the weather was on a visit."""

import sqlalchemy as sa
from alembic import op

revision = "{NEXT}"
down_revision = "{NEWEST}"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    with op.batch_alter_table("visit") as visit:
        visit.add_column(sa.Column("weather", TEXT))


def downgrade() -> None:
    with op.batch_alter_table("visit") as visit:
        visit.drop_column("weather")
'''
ROWS = f'''"""Rows in every table as they stood at revision {NEXT}, for plain SQL."""

from pathlib import Path
from runpy import run_path
from typing import Any

ROWS: dict[str, list[dict[str, Any]]] = run_path(str(Path(__file__).with_name("data_{NEWEST}.py")))["ROWS"]
for visit in ROWS["visit"]:
    visit["weather"] = "rain"
'''
RECIPES = {
    "A task": [
        Edit("service/domain/maintenance/catalogue.py", TASK, before='    Task(\n        code="follow_up",'),
        Edit("tests/domain/maintenance/test_catalogue.py", '"drain_check", ', before='"follow_up",\n    ]'),
        Edit(
            "tests/summary_recount/due_dates.py",
            '    "drain_check": (6, 30, 365, False, {}, []),\n',
            before="}\n\n\nclass Due",
        ),
    ],
    "A visit field": [
        Edit("service/domain/record/visits.py", "    weather: str | None = None\n", before="    posted_at: datetime\n"),
        Edit("service/schemas/visits.py", "    weather = line(allow_none=True)\n", before="    outcome = Choice("),
        Edit("service/storage/tables/visits.py", '    text("weather"),\n', before='    UniqueConstraint("uuid"),'),
        Edit("migrations/versions/000N_what_it_does.py", MIGRATION),
        Edit("tests/migrations/data_000N.py", ROWS),
        Edit("service/storage/visits.py", "    visit.c.weather,\n", before="    visit.c.posted_at,\n"),
        Edit(
            "service/storage/visit_rows.py", '        "weather": given.weather,\n', before='        "void": void_text('
        ),
        Edit("service/storage/visit_rows.py", "weather, ", before="posted_at, posted_by, void, version = row"),
        Edit(
            "service/storage/visit_rows.py",
            "        weather=weather,\n",
            before="        posted_at=from_text(posted_at)",
        ),
    ],
}


def recipe(title: str) -> tuple[list[str], list[str]]:
    """(files by step, commands) of a recipe."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition(f"\n### {title}\n")[2].partition("\n### ")[0]
    (block,) = re.findall(r"```sh\n(.*?)```", text, re.DOTALL)
    return re.findall(r"^\d+\. `([\w./]+)`", text, re.MULTILINE), block.strip().splitlines()


def carried_out(title: str, root: Path, edits: Iterable[Edit]) -> str:
    """Apply the edits to a copy and run the recipe's commands: what the first failing one printed, or nothing."""
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, root / name, ignore=LEFT_OUT)
        else:
            shutil.copy(source, root / name)
    for edit in edits:
        edit.apply(root)
    environ = {**os.environ, "PYTHONPATH": str(root), "PYTEST_ADDOPTS": "-x -p no:cacheprovider"}
    for command in recipe(title)[1]:
        words = command.replace(".venv/bin/python", sys.executable)
        done = subprocess.run(["bash", "-c", words], cwd=root, env=environ, capture_output=True, text=True, check=False)
        if done.returncode != 0:
            return done.stdout[-6000:] + done.stderr[-2000:] + f"exit code {done.returncode}"
    return ""


@pytest.mark.parametrize("title", RECIPES)
def test_the_recipe_names_the_files_that_are_edited(title: str) -> None:
    assert recipe(title)[0] == list(dict.fromkeys(edit.path for edit in RECIPES[title]))


@pytest.mark.parametrize("title", RECIPES)
def test_the_recipe_is_complete(title: str, tmp_path: Path) -> None:
    assert carried_out(title, tmp_path, RECIPES[title]) == ""


COULD_STAY_SILENT = ("service/schemas/visits.py", "service/storage/visits.py", "service/storage/visit_rows.py")
STEPS = [n for n, edit in enumerate(RECIPES["A visit field"]) if edit.path in COULD_STAY_SILENT]


@pytest.mark.parametrize("n", STEPS)
def test_a_step_that_is_left_out_is_noticed(n: int, tmp_path: Path) -> None:
    steps = RECIPES["A visit field"]

    assert carried_out("A visit field", tmp_path, steps[:n] + steps[n + 1 :]) != ""
