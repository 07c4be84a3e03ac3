"""The first and the last day on which a reported replacement may have been made, beside what was written."""

import sqlalchemy as sa
from alembic import op

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    op.add_column("replacement", sa.Column("earliest", TEXT))
    op.add_column("replacement", sa.Column("latest", TEXT))
    op.execute("UPDATE replacement SET earliest = reported_on, latest = reported_on")


def downgrade() -> None:
    """Of what is not known exactly the last day possible stays. Nothing is rebuilt, so that WITHOUT ROWID stays."""
    op.execute("UPDATE replacement SET reported_on = day WHERE length(reported_on) <> 10")
    op.drop_column("replacement", "latest")
    op.drop_column("replacement", "earliest")
