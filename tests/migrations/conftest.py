"""Databases at a revision, with the rows that each revision's data module holds."""

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, Engine, Inspector, inspect, text

from service.storage.engine.database import open_engine

TRIGGERS = {
    "sqlite": "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'",
    "postgresql": (
        "SELECT pg_get_triggerdef(t.oid), p.prosrc FROM pg_trigger t JOIN pg_proc p ON p.oid = t.tgfoid"
        " WHERE NOT tgisinternal"
    ),
}
MIGRATIONS = Path(__file__).parents[2] / "migrations"


def rows_of(revision: str) -> dict[str, list[dict[str, Any]]]:
    """The rows in tests/migrations/data_<revision>.py."""
    spec = spec_from_file_location(f"data_{revision}", Path(__file__).with_name(f"data_{revision}.py"))
    assert spec is not None
    assert spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    rows: dict[str, list[dict[str, Any]]] = module.ROWS
    return rows


class Base:
    """A database seen from outside the program: plain SQL and what the engine itself says of its schema."""

    def __init__(self, url: str) -> None:
        self.url = url

    @contextmanager
    def connected(self) -> Iterator[Connection]:
        engine: Engine = open_engine(self.url)
        try:
            with engine.connect() as connection:
                if engine.dialect.name == "sqlite":
                    connection.exec_driver_sql("BEGIN")
                yield connection
                connection.exec_driver_sql("COMMIT")
        finally:
            engine.dispose()

    def fill(self, revision: str) -> None:
        """Insert a revision's rows by plain SQL, and set the counters of PostgreSQL behind them."""
        with self.connected() as connection:
            for table, rows in rows_of(revision).items():
                for row in rows:
                    names = ", ".join(f'"{name}"' for name in row)
                    values = ", ".join(f":{name}" for name in row)
                    connection.execute(text(f'INSERT INTO "{table}" ({names}) VALUES ({values})'), row)
                if connection.dialect.name == "postgresql" and isinstance(rows[0].get("id"), int):
                    counter = f"pg_get_serial_sequence('\"{table}\"', 'id')"
                    connection.exec_driver_sql(f'SELECT setval({counter}, max(id)) FROM "{table}"')

    def counted(self) -> dict[str, int]:
        """How many rows each table holds."""
        with self.connected() as connection:
            tables = sorted(inspect(connection).get_table_names())
            return {table: connection.execute(text(f'SELECT count(*) FROM "{table}"')).scalar_one() for table in tables}

    def schema(self) -> dict[str, Any]:
        """Every table with its columns, keys, checks and indexes; without Alembic's own table."""
        with self.connected() as connection:
            seen = inspect(connection)
            result = self._tables(seen)
            result["triggers"] = sorted(tuple(row) for row in connection.exec_driver_sql(TRIGGERS[seen.dialect.name]))
            if connection.dialect.name == "sqlite":
                without = connection.exec_driver_sql("SELECT name FROM pragma_table_list WHERE wr = 1").fetchall()
                result["without rowid"] = sorted(row[0] for row in without)
            return result

    @staticmethod
    def _tables(seen: Inspector) -> dict[str, Any]:
        def sets(parts: Any) -> list[str]:
            return sorted(repr(sorted(part.items(), key=str)) for part in parts)

        def plain(columns: Any) -> list[Any]:
            return [sorted({**column, "type": repr(column["type"])}.items(), key=str) for column in columns]

        asked = {  # each in one question for all tables
            "columns": (seen.get_multi_columns(), plain),
            "primary key": (seen.get_multi_pk_constraint(), dict),
            "foreign keys": (seen.get_multi_foreign_keys(), sets),
            "unique": (seen.get_multi_unique_constraints(), sets),
            "checks": (seen.get_multi_check_constraints(), sets),
            "indexes": (seen.get_multi_indexes(), sets),
        }
        names = sorted(set(seen.get_table_names()) - {"alembic_version"})
        return {name: {part: made(found[None, name]) for part, (found, made) in asked.items()} for name in names}


@pytest.fixture
def base(database_url: str) -> Base:
    """A new, empty database on each engine in turn."""
    return Base(database_url)


@pytest.fixture
def with_another(tmp_path: Path) -> Callable[[str], Path]:
    """Copies the migrations and adds one behind the newest, whose upgrade() has this body."""

    def add(body: str, behind: str = "0001") -> Path:
        folder = tmp_path / "migrations"
        shutil.copytree(MIGRATIONS, folder, dirs_exist_ok=True, ignore=shutil.ignore_patterns("__pycache__"))
        lines = [
            "import sqlalchemy as sa", "from alembic import op", 'revision = "next"', f'down_revision = "{behind}"',
            "branch_labels = depends_on = None", "def upgrade():", *(f"    {line}" for line in body.splitlines()),
        ]  # fmt: skip
        (folder / "versions" / "next.py").write_text("\n".join(lines))
        return folder

    return add
