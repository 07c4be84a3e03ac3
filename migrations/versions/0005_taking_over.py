"""When our care began, what was done before it, and first dates by onboarding plans."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
COLUMNS = {"customer": ("care_from",), "site": ("care_from",), "unit": ("care_from", "last_done")}


def upgrade() -> None:
    for table, names in COLUMNS.items():
        for name in names:
            op.add_column(table, sa.Column(name, TEXT))
    op.create_table(
        "first_date",
        sa.Column("unit_id", KEY, nullable=False),
        sa.Column("task", TEXT, nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("planned_on", TEXT, nullable=False),
        sa.Column("since", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name=op.f("fk_first_date_unit_id")),
        sa.PrimaryKeyConstraint("unit_id", "task", name=op.f("pk_first_date")),
        sqlite_with_rowid=False,
    )


def downgrade() -> None:
    op.drop_table("first_date")
    for table, names in COLUMNS.items():
        with op.batch_alter_table(table) as altered:
            for name in names:
                altered.drop_column(name)
