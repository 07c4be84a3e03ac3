"""Service summaries as they were handed out to customers."""

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "issue",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("uuid", TEXT, nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("year", sa.Integer(), nullable=False),
        sa.Column("issued_at", TEXT, nullable=False),
        sa.Column("issued_by", TEXT, nullable=False),
        sa.Column("as_of", TEXT, nullable=False),
        sa.Column("form", TEXT, nullable=False),
        sa.Column("digest", TEXT, nullable=False),
        sa.Column("program_version", TEXT, nullable=False),
        sa.Column("sha256", TEXT, nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("body", TEXT, nullable=False),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name=op.f("fk_issue_customer_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_issue")),
        sa.UniqueConstraint("uuid", name=op.f("uq_issue_uuid")),
    )
    op.create_index("ix_issue_customer_id", "issue", ["customer_id", "year"])


def downgrade() -> None:
    op.drop_table("issue")
