"""A version for each unit's history, and for which history and rules its due items were worked out."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("unit") as unit:
        unit.add_column(sa.Column("log_version", sa.Integer(), nullable=False, server_default="1"))
        unit.add_column(sa.Column("due_version", sa.Integer(), nullable=False, server_default="0"))
        unit.add_column(sa.Column("due_rules", sa.Integer(), nullable=False, server_default="0"))
    with op.batch_alter_table("unit") as unit:
        for name in ("log_version", "due_version", "due_rules"):
            unit.alter_column(name, server_default=None)
    op.execute("DELETE FROM day_done WHERE job = 'due_items'")


def downgrade() -> None:
    with op.batch_alter_table("unit") as unit:
        for name in ("due_rules", "due_version", "log_version"):
            unit.drop_column(name)
