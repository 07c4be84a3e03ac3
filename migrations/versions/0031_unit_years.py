"""Years of units as letters show them, kept with all that they follow from."""

import sqlalchemy as sa
from alembic import op

revision = "0031"
down_revision = "0030"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "unit_year",
        sa.Column("unit_id", KEY, autoincrement=False, nullable=False),
        sa.Column("year", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("basis", TEXT, nullable=False),
        sa.Column("since", TEXT, nullable=False),
        sa.Column("day", TEXT, nullable=True),
        sa.Column("made", TEXT, nullable=False),
        sa.PrimaryKeyConstraint("unit_id", "year", name=op.f("pk_unit_year")),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name=op.f("fk_unit_year_unit_id")),
    )


def downgrade() -> None:
    op.drop_table("unit_year")
