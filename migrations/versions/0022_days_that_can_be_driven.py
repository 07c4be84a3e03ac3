"""Opening hours of a site; skills of a technician; where and when a day of work begins."""

import sqlalchemy as sa
from alembic import op

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    op.add_column("site", sa.Column("opening_hours", TEXT))
    op.add_column("technician", sa.Column("skills", TEXT))
    for table in ("technician", "company"):
        op.add_column(table, sa.Column("latitude", sa.Double()))
        op.add_column(table, sa.Column("longitude", sa.Double()))
        op.add_column(table, sa.Column("day_starts_at", TEXT))
    op.create_table(
        "travel_time",
        sa.Column("from_site", TEXT, nullable=False),
        sa.Column("to_site", TEXT, nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("from_site", "to_site", name=op.f("pk_travel_time")),
        sqlite_with_rowid=False,
    )


def downgrade() -> None:
    op.drop_table("travel_time")
    for table in ("company", "technician"):
        with op.batch_alter_table(table) as altered:
            for column in ("latitude", "longitude", "day_starts_at"):
                altered.drop_column(column)
    with op.batch_alter_table("technician") as altered:
        altered.drop_column("skills")
    with op.batch_alter_table("site") as altered:
        altered.drop_column("opening_hours")
