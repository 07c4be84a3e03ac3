"""Our own company: one row."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "company",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("name", TEXT),
        sa.Column("address", TEXT),
        sa.Column("phone", TEXT),
        sa.Column("email", TEXT),
        sa.Column("licence", TEXT),
        sa.Column("hours_per_day", sa.Double()),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_company_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_company")),
    )


def downgrade() -> None:
    op.drop_table("company")
