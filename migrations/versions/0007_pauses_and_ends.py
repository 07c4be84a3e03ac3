"""Pauses of units, closures and ends of sites and customers, and on which days a due item is not listed."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
COLUMNS = {
    "customer": ("ended_on",),
    "site": ("ended_on", "closures"),
    "unit": ("pauses",),
    "due_item": ("away",),
}


def upgrade() -> None:
    for table, names in COLUMNS.items():
        for name in names:
            op.add_column(table, sa.Column(name, TEXT))


def downgrade() -> None:
    for table, names in COLUMNS.items():
        with op.batch_alter_table(table) as altered:
            for name in names:
                altered.drop_column(name)
