"""Runs the migrations on the engine that the program hands over, all of them in one transaction.

On SQLite, foreign keys are off meanwhile: rebuilding a table with its keys on would empty the tables that point to it.
They are checked before the commit, and one orphan refuses the whole upgrade.
"""

from alembic import context
from sqlalchemy import Connection

from service.storage.tables import customer


def migrate(connection: Connection) -> None:
    """Run what Alembic planned on this connection."""
    is_sqlite = connection.dialect.name == "sqlite"
    if is_sqlite:
        connection.exec_driver_sql("PRAGMA foreign_keys=OFF")
        connection.exec_driver_sql("BEGIN IMMEDIATE")
    context.configure(
        connection=connection, target_metadata=customer.metadata, render_as_batch=is_sqlite, compare_type=True
    )
    try:
        context.run_migrations()
        if is_sqlite and (orphans := connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()):
            raise RuntimeError(f"the migration would leave rows without what they point to: {orphans[:5]}")
    except BaseException:
        connection.exec_driver_sql("ROLLBACK")
        raise
    connection.exec_driver_sql("COMMIT")
    if is_sqlite:
        connection.exec_driver_sql("PRAGMA foreign_keys=ON")


migrate(context.config.attributes["connection"])
