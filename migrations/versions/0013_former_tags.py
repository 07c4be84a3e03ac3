"""Former tags of units, by which a unit is still found."""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "former_tag",
        sa.Column("tag", TEXT, nullable=False),
        sa.Column("unit_id", KEY, nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("changed_at", TEXT, nullable=False),
        sa.Column("changed_by", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name=op.f("fk_former_tag_unit_id")),
        sa.PrimaryKeyConstraint("tag", "unit_id", "changed_at", name=op.f("pk_former_tag")),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_former_tag_unit_id", "former_tag", ["unit_id"])


def downgrade() -> None:
    op.drop_table("former_tag")
