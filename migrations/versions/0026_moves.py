"""Whether the records were moved to another database."""

import sqlalchemy as sa
from alembic import op

revision = "0026"
down_revision = "0025"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "move",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("state", TEXT, nullable=False),
        sa.Column("address", TEXT, nullable=False),
        sa.Column("at", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_move")),
        sa.CheckConstraint("id = 1", name=op.f("ck_move_one_row")),
        sa.CheckConstraint("state IN ('arriving', 'moved')", name=op.f("ck_move_state")),
    )


def downgrade() -> None:
    op.drop_table("move")
