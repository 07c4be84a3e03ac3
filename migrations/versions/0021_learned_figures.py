"""What the fleet shows of how its units drift and foul, each time that it changed."""

import sqlalchemy as sa
from alembic import op

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    op.create_table(
        "learned_figures",
        sa.Column("learned_at", TEXT, nullable=False),
        sa.Column("figures", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("learned_at", name=op.f("pk_learned_figures")),
        sqlite_with_rowid=False,
    )


def downgrade() -> None:
    op.drop_table("learned_figures")
