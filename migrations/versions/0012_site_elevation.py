"""The elevation of a site, as the text of its quantity."""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    op.add_column("site", sa.Column("elevation", TEXT))


def downgrade() -> None:
    with op.batch_alter_table("site") as altered:
        altered.drop_column("elevation")
