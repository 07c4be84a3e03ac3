"""The index of the PM list also says on which days an item is not listed, so that it answers alone again."""

from alembic import op

revision = "0027"
down_revision = "0026"
branch_labels = None
depends_on = None

FORMER = ["due_on", "site_id", "unit_id", "task", "interval"]


def upgrade() -> None:
    op.drop_index("ix_due_item_due_on", "due_item")
    op.create_index("ix_due_item_due_on", "due_item", [*FORMER, "away"])


def downgrade() -> None:
    op.drop_index("ix_due_item_due_on", "due_item")
    op.create_index("ix_due_item_due_on", "due_item", FORMER)
