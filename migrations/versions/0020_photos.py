"""Photos of visits."""

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None

TEXT = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KEY = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "photo",
        sa.Column("id", KEY, autoincrement=True, nullable=False),
        sa.Column("uuid", TEXT, nullable=False),
        sa.Column("customer_id", KEY, nullable=False),
        sa.Column("visit_id", KEY, nullable=False),
        sa.Column("sha256", TEXT, nullable=False),
        sa.Column("sent_sha256", TEXT, nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("caption", TEXT, nullable=True),
        sa.Column("component", TEXT, nullable=True),
        sa.Column("moment", TEXT, nullable=True),
        sa.Column("posted_at", TEXT, nullable=False),
        sa.Column("posted_by", TEXT, nullable=False),
        sa.Column("void", TEXT, nullable=True),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name=op.f("fk_photo_customer_id")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_photo_visit_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photo")),
        sa.UniqueConstraint("uuid", name=op.f("uq_photo_uuid")),
    )
    op.create_index("ix_photo_visit_id", "photo", ["visit_id"])


def downgrade() -> None:
    op.drop_table("photo")
