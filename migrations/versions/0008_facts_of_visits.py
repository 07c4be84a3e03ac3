"""What visits record of crew, parts used, items and signature, and notes that are not for the customer."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
COLUMNS = {
    "visit": ("crew", "internal_note", "parts_used", "signed_by"),
    "replacement": ("item", "removed_item"),
}


def upgrade() -> None:
    for table, names in COLUMNS.items():
        for name in names:
            op.add_column(table, sa.Column(name, TEXT))


def downgrade() -> None:
    for table, names in COLUMNS.items():  # without rebuilding, so that WITHOUT ROWID stays
        for name in names:
            op.drop_column(table, name)
