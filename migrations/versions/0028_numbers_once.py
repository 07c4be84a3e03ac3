"""The number of a deleted assignment or withdrawn root cause is not given to another; PostgreSQL never gave one twice."""

from alembic import op

revision = "0028"
down_revision = "0027"
branch_labels = None
depends_on = None

TABLES = ("assignment", "root_cause")


def upgrade() -> None:
    if op.get_bind().dialect.name == "sqlite":
        for table in TABLES:
            with op.batch_alter_table(table, recreate="always", table_kwargs={"sqlite_autoincrement": True}):
                pass


def downgrade() -> None:
    if op.get_bind().dialect.name == "sqlite":
        for table in TABLES:
            with op.batch_alter_table(table, recreate="always") as altered:
                altered.create_primary_key(f"pk_{table}", ["id"])
