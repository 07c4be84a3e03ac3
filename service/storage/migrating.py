"""Migrate a database to the schema of this program, and check that it is there."""

from contextlib import nullcontext
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from alembic.util import CommandError
from sqlalchemy import Connection, Engine, inspect

from service.domain.errors import Unavailable
from service.storage.engine.database import PATIENCE, Database, open_engine
from service.storage.engine.faults import Refused, Translating
from service.storage.engine.turnstile import turn_to_write
from service.storage.revision import revisions
from service.storage.store import Store


def config(folder: Path, connection: Connection | None = None) -> Config:
    """Alembic's settings: the folder of migrations and the connection to run them on."""
    made = Config()
    made.set_main_option("script_location", str(folder).replace("%", "%%"))
    made.attributes["connection"] = connection
    return made


def head(folder: Path) -> str:
    """The newest revision of this program."""
    return ScriptDirectory.from_config(config(folder)).get_current_head() or ""


def upgrade(url: str, folder: Path, revision: str = "head") -> None:
    """Bring the database at `url` to a revision, wholly or not at all; Refused when it is at one unknown here."""
    _run(url, folder, revision, command.upgrade)


def downgrade(url: str, folder: Path, revision: str) -> None:
    """Take the database at `url` back to a revision."""
    _run(url, folder, revision, command.downgrade)


def _run(url: str, folder: Path, revision: str, way: object) -> None:
    engine = open_engine(url, limited=False)
    path = Path(engine.url.database or "")
    turn = turn_to_write(path, patience=PATIENCE) if engine.dialect.name == "sqlite" else nullcontext()
    try:
        with turn, Translating(), engine.connect() as connection:
            way(config(folder, connection), revision)  # type: ignore[operator]
    except CommandError as refusal:
        raise Refused(f"the schema cannot be brought to {revision}: {refusal}; is the program too old?") from refusal
    finally:
        engine.dispose()


def revision_of(engine: Engine) -> str | None:
    """The revision that the database is at, None for a new one."""
    with Translating(), engine.connect() as connection:
        return MigrationContext.configure(connection).get_current_revision()


def check_revision(database: Database[Store], folder: Path) -> None:
    """Refused when no migration leads from the schema as it is to that of this program."""
    with Translating(), database.engine.connect() as connection:
        found = MigrationContext.configure(connection).get_current_heads()
        is_empty = not inspect(connection).has_table("customer")
    unknown = set(found) - revisions(folder)
    if unknown:
        raise Refused(f"the schema is at {', '.join(sorted(unknown))}, of a newer program: install that one")
    if len(found) > 1 or (not found and not is_empty):
        raise Refused("the database does not say which schema it has (table alembic_version): restore a backup")


def require_head(database: Database[Store], folder: Path) -> None:
    """Unavailable when the schema is not the one that this program knows."""
    found, wanted = revision_of(database.engine), head(folder)
    if found != wanted:
        raise Unavailable(
            f"the schema is at {found or 'nothing'}, this program needs {wanted}: run glycol-fleet migrate"
        )
