"""A version for each unit's history, for which history and rules its due items were worked out, and daily jobs."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    with op.batch_alter_table("unit") as unit:
        unit.add_column(sa.Column("log_version", sa.Integer(), nullable=False, server_default="1"))
        unit.add_column(sa.Column("due_version", sa.Integer(), nullable=False, server_default="0"))
        unit.add_column(sa.Column("due_rules", sa.Integer(), nullable=False, server_default="0"))
    with op.batch_alter_table("unit") as unit:
        for name in ("log_version", "due_version", "due_rules"):
            unit.alter_column(name, server_default=None)
    op.create_table(
        "job_done",
        sa.Column("job", TEXT, nullable=False),
        sa.Column("day", TEXT, nullable=False),
        sa.Column("done_at", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("job", "day", name=op.f("pk_job_done")),
        sqlite_with_rowid=False,
    )
    op.execute("INSERT INTO job_done (job, day, done_at) SELECT job, day, min(done_at) FROM day_done GROUP BY job, day")
    op.drop_table("day_done")
    with op.batch_alter_table("failure_statistics") as statistics:
        statistics.add_column(sa.Column("log_version", sa.Integer(), nullable=False, server_default="0"))
    with op.batch_alter_table("failure_statistics") as statistics:
        statistics.alter_column("log_version", server_default=None)


def downgrade() -> None:
    with op.batch_alter_table("failure_statistics") as statistics:
        statistics.drop_column("log_version")
    op.create_table(
        "day_done",
        sa.Column("job", TEXT, nullable=False),
        sa.Column("site_id", KEY, nullable=False),
        sa.Column("day", TEXT, nullable=False),
        sa.Column("done_at", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_day_done_site_id")),
        sa.PrimaryKeyConstraint("job", "site_id", "day", name=op.f("pk_day_done")),
        sqlite_with_rowid=False,
    )
    op.execute(
        "INSERT INTO day_done (job, site_id, day, done_at) "
        "SELECT job, (SELECT min(id) FROM site), day, done_at FROM job_done WHERE EXISTS (SELECT 1 FROM site)"
    )
    op.drop_table("job_done")
    with op.batch_alter_table("unit") as unit:
        for name in ("due_rules", "due_version", "log_version"):
            unit.drop_column(name)
