"""Whether a database has the schema of this program, asked without Alembic, whose import takes a fifth of a second."""

from pathlib import Path

from sqlalchemy import Engine, inspect, text

from service.storage.engine.faults import Translating


def revisions(folder: Path) -> set[str]:
    """Every revision in a folder of migrations: the number at the beginning of each file's name."""
    return {path.name.partition("_")[0] for path in (folder / "versions").glob("[0-9]*_*.py")}


def newest(folder: Path) -> str:
    """The newest revision in a folder of migrations."""
    return max(revisions(folder))


def is_newest(engine: Engine, folder: Path) -> bool:
    """Whether the database is at that revision and no other; where it is not, `migrating` says what is wrong."""
    with Translating(), engine.connect() as connection:
        if not inspect(connection).has_table("alembic_version"):
            return False
        rows = connection.execute(text("SELECT version_num FROM alembic_version")).scalars()
        return list(rows) == [newest(folder)]
